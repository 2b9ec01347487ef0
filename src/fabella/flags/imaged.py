"""What an image showed that cannot wait, and a leg whose veins were scanned without finding a clot."""

from dataclasses import replace

from fabella.flags.knee import Knee
from fabella.flags.limb import foot_in_danger
from fabella.flags.logic import Truth, all_of
from fabella.flags.reading import Reading
from fabella.flags.story import RECENT_DAYS, child, within_days
from fabella.flags.veins import dvt_2003
from fabella.record import ImageKind

FRACTURES = frozenset(
    {
        "tibial_plateau_fracture",
        "distal_femoral_fracture",
        "patellar_fracture",
        "tibial_spine_avulsion",
        "tibial_tubercle_avulsion",
        "segond_fracture",
    }
)
CHILD_YEARS = 16  # as the rules that name MRI for a child
TUMOURS = frozenset({"bone_tumour", "soft_tissue_tumour"})


def fracture_shown(knee: Knee) -> Reading:
    """Say whether an image shows a fracture; one known to be older than six weeks is another matter.

    CT is ordered of the plateau of an adult, for the shape of its joint surface (common practice).
    """
    told = _shown(knee, "fracture_shown", FRACTURES, relevant=within_days(knee, RECENT_DAYS) is not False)
    plateau = "tibial_plateau_fracture" in knee.shown and not child(knee, under_years=CHILD_YEARS)
    return replace(told, spares=frozenset() if plateau else frozenset({"ct"}))


def break_shown(knee: Knee) -> bool:
    """Say whether a shown fracture explains blood and tender bone: any but a Segond fracture."""
    fresh = fracture_shown(knee).relevant is True
    return fresh and not knee.shown.isdisjoint(FRACTURES - {"segond_fracture"})


def spared_after_films(knee: Knee, *, still: Truth) -> frozenset[str]:
    """Return which of CT and MRI need not follow films that were read and show no fracture (common practice).

    Both before that, and where it does not ``still`` look like one; else MRI, but where radiation is to be
    spared, in a child or a pregnant woman, or CT was read already, CT.
    """
    if not knee.has_read(ImageKind.RADIOGRAPH) or not still:
        return frozenset({"ct", "mri"})
    spared = child(knee, under_years=CHILD_YEARS) or knee.said("pregnancy") or knee.has_read(ImageKind.CT)
    return frozenset({"ct"} if spared else {"mri"})


def stress_fracture_shown(knee: Knee) -> Reading:
    """Say whether an image shows a stress or insufficiency fracture near the knee."""
    return _shown(knee, "stress_fracture_shown", frozenset({"stress_fracture"}))


def artery_disease_shown(knee: Knee) -> Reading:
    """Say whether an image shows the artery behind the knee widened or pinched."""
    told = _shown(knee, "artery_disease_shown", frozenset({"popliteal_artery_disease"}))
    return replace(told, excluded=foot_in_danger(knee))


def artery_shown(knee: Knee) -> Reading:
    """Say whether an image shows the artery behind the knee torn or closed."""
    return _shown(knee, "artery_shown", frozenset({"popliteal_artery_injury"}))


def thrombosis_shown(knee: Knee) -> Reading:
    """Say whether an image shows a clot in a deep vein."""
    return _shown(knee, "thrombosis_shown", frozenset({"deep_vein_thrombosis"}))


def bone_infection_shown(knee: Knee) -> Reading:
    """Say whether an image shows infection of the bone."""
    return _shown(knee, "bone_infection_shown", frozenset({"osteomyelitis"}))


def tumour_shown(knee: Knee) -> Reading:
    """Say whether an image shows a tumour of bone or soft tissue."""
    return _shown(knee, "tumour_shown", TUMOURS)


def dvt_after_scan(knee: Knee) -> Reading:
    """NICE NG158: a likely thrombosis that the scan of the veins did not show."""
    score = knee.reading(dvt_2003)
    empty = knee.has_read(ImageKind.VEIN_ULTRASOUND) and not thrombosis_shown(knee).met
    likely = all_of(score.met, score.relevant)
    return Reading(
        criteria={"two_points": likely, "no_clot_on_scan": empty},
        met=all_of(likely, empty),
        relevant=empty,
    )


def _shown(knee: Knee, criterion: str, lesions: frozenset[str], *, relevant: Truth = True) -> Reading:
    """Return a rule of one criterion, which an image shows or does not; unread, it shows nothing."""
    seen = not knee.shown.isdisjoint(lesions)
    return Reading(criteria={criterion: seen}, met=seen, relevant=relevant)
