"""Blood in the joint after an injury, and the fat in it."""

from fabella.flags.explanations import BLOOD_WITHIN_HOURS, unless
from fabella.flags.imaged import break_shown, spared_after_films
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, all_of, any_of, given, hint
from fabella.flags.picture import effusion, large_effusion
from fabella.flags.reading import Reading
from fabella.flags.story import FRESH_DAYS, injured_within, recent_injury
from fabella.record import ImageKind


def lipohaemarthrosis(knee: Knee) -> Reading:
    """Fat floating on the blood comes from marrow; from the fracture that an image shows, where one does."""
    fat = knee.is_at_least("haemarthrosis_aspirate", "blood_with_fat")
    return Reading(
        criteria={"fat_in_aspirate": fat},
        met=fat,
        relevant=hint(aspirated_blood(knee)),
        excluded=break_shown(knee),
        spares=spared_after_films(knee, still=True),
    )


def acute_haemarthrosis(knee: Knee) -> Reading:
    """A large effusion, or one within hours of an injury, is blood until proved otherwise.

    An image that shows the bone broken says where it comes from, but for a Segond fracture: what bleeds
    there is the cruciate ligament (common practice).
    """
    hours = knee.number_said("swelling_onset_hours")
    fresh = injured_within(knee, FRESH_DAYS) is not False  # what bled weeks ago has been taken up again
    criteria = {
        "recent_injury": recent_injury(knee),
        "blood_aspirated": aspirated_blood(knee),
        "large_effusion": all_of(large_effusion(knee), fresh),
        "swollen_within_6_hours": all_of(
            given(hours, lambda h: h <= BLOOD_WITHIN_HOURS),
            fresh,
            None if effusion(knee) is False else True,
        ),
    }
    injury, blood, *signs = criteria.values()
    seen = any_of(blood, *signs, effusion(knee), knee.has("swelling_visible"))
    denied = any_of(*signs) is False  # a small, late effusion: nobody puts a needle in to see
    return Reading(
        criteria=criteria,
        met=all_of(injury, any_of(blood, *signs)),
        relevant=all_of(injury, unless(denied and not blood, hint(seen))),
        excluded=break_shown(knee),
        spares=frozenset() if knee.has_read(ImageKind.RADIOGRAPH) else frozenset({"mri"}),
    )


def aspirated_blood(knee: Knee) -> Truth:
    """Say whether blood was aspirated from the joint."""
    return knee.is_at_least("haemarthrosis_aspirate", "blood")
