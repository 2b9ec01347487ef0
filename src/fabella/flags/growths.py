"""Tumour: bone pain, masses, and the wasted or stiff knee of a young person that nothing explains."""

from fabella.flags.explanations import (
    catches,
    cyst_of_the_joint,
    growing_pains,
    inflamed,
    local_cause,
    loose,
    lump_explained,
    operated,
    referred,
    rheumatic,
    sore_joint,
    tender_bone_unexplained,
    unless,
)
from fabella.flags.knee import Knee
from fabella.flags.limb import leg_in_danger
from fabella.flags.logic import Truth, all_of, any_of, given, hint, negate
from fabella.flags.picture import hip_free, night_or_rest_pain, numb_foot, stiff, weak_foot
from fabella.flags.reading import Reading
from fabella.flags.story import FRESH_DAYS, child, heals, injured_within, persistent, recent_injury
from fabella.record import ImageKind

YOUNG_YEARS = 25  # "young person" in NICE NG12: up to 24 (from memory)
ARTHRITIS_YEARS = 45
BLOOD_COUNT_YEARS = 16  # younger, and an image alone is not enough
MASS_CM = 5.0  # 5 cm itself counts


def tumour_bone_young(knee: Knee) -> Reading:
    """NICE NG12: unexplained bone pain or swelling in a child or young person."""
    told = any_of(inflamed(knee), heals(knee), growing_pains(knee), leg_in_danger(knee))
    criteria = {
        "bone_swelling": any_of(knee.has("bony_enlargement"), _hard_mass(knee)),
        "bone_tender": tender_bone_unexplained(knee),
        "night_or_rest_pain": unless(told, night_or_rest_pain(knee)),
    }
    met = any_of(*criteria.values())
    scanned = knee.has_read(ImageKind.MRI)  # what it shows has rules of its own
    found = any_of(local_cause(knee), recent_injury(knee)) is True and not night_or_rest_pain(knee)
    asks = None if found or told else True
    return Reading(
        criteria=criteria,
        met=met,
        relevant=all_of(
            child(knee, under_years=YOUNG_YEARS),
            knee.complained_of,
            _unexplained(knee),
            any_of(hint(met), asks),
        ),
        excluded=scanned and child(knee, under_years=BLOOD_COUNT_YEARS) is False,
    )


def tumour_wasting_young(knee: Knee) -> Reading:
    """Persistent pain with wasting or stiffness and no injury in a young person."""
    muscles = ("quadriceps_wasting", "calf_wasting", "hamstring_wasting")
    marked = any_of(*(knee.is_at_least(muscle, "marked") for muscle in muscles))
    wasted = any_of(hint(marked), unless(catches(knee), any_of(*map(knee.has, muscles))))
    explained = any_of(operated(knee), loose(knee), knee.reading(tumour_bone_young).met)
    wasted, short = (unless(explained, each) for each in (wasted, stiff(knee)))
    criteria = {"persistent": persistent(knee), "wasting": wasted, "stiff": short}
    lasting, *signs = criteria.values()
    mechanical = any_of(knee.said("locking"), knee.said("giving_way"))
    return Reading(
        criteria=criteria,
        met=all_of(lasting, any_of(*signs)),
        relevant=all_of(
            child(knee, under_years=YOUNG_YEARS), knee.complained_of, _unexplained(knee), hint(any_of(*signs))
        ),
        excluded=mechanical is True,
        spares=frozenset({"hip_radiograph"} if hip_free(knee) else ()),
    )


def tumour_bone_pain(knee: Knee) -> Reading:
    """Scottish guideline: bone pain that is not mechanical, at any age.

    Pain at night alone, with bone not tender and no mass, is open rather than met while it is
    younger than four weeks or a sore joint is at hand: the guideline speaks of pain of bone.
    """
    pointer = any_of(*map(knee.said, ("cancer_history", "active_cancer", "weight_loss")))
    younger = child(knee, under_years=ARTHRITIS_YEARS)
    tender, lasting = tender_bone_unexplained(knee), persistent(knee)
    told = any_of(
        inflamed(knee),
        rheumatic(knee),
        referred(knee),
        heals(knee),
        growing_pains(knee),
        leg_in_danger(knee),
    )
    asked = unless(told, night_or_rest_pain(knee))
    felt = any_of(tender, knee.has("palpable_mass"))
    doubted = all_of(any_of(negate(lasting), sore_joint(knee)), felt is not True)
    criteria = {
        "night_or_rest_pain": unless(doubted, asked),
        "bone_tender": tender,
        "persistent": lasting,
        "cancer": pointer,
        "bone_swelling": all_of(younger, knee.has("bony_enlargement")),
    }
    at_night, swelling = criteria["night_or_rest_pain"], criteria["bone_swelling"]
    arthritic = all_of(negate(younger), knee.said("activity_pain"), stiff(knee))
    return Reading(
        criteria=criteria,
        met=any_of(
            at_night,
            swelling,
            all_of(tender, any_of(lasting, pointer)),
            all_of(night_or_rest_pain(knee), pointer),
        ),
        relevant=all_of(
            knee.complained_of,
            _unexplained(knee),
            hint(any_of(asked, tender, pointer, swelling)),
            any_of(arthritic is not True, pointer),
        ),
    )


def tumour_mass(knee: Knee) -> Reading:
    """Scottish guideline: large, growing, deep or fixed, or where one was taken out or irradiated before.

    The size of a swelling behind the knee that softens on bending, and of nothing else, is that of a cyst.
    """
    large = given(knee.measure("mass_size"), lambda cm: cm >= MASS_CM)
    criteria = {
        "mass": _mass(knee),
        "five_cm": unless(cyst_of_the_joint(knee), large),
        "growing": knee.said("lump_growing"),
        "deep_or_fixed": knee.has("mass_firm_fixed"),
        "there_before": knee.said("lump_removed_before"),
        "at_a_nerve": all_of(knee.has("palpable_mass"), _nerve_suffers(knee)),
    }
    mass, *features, before, nerve = criteria.values()
    met = all_of(mass, any_of(*features, before, nerve))
    denied = any_of(*features) is False  # then neither an old operation nor a nerve is asked about
    asks = unless(denied or lump_explained(knee), hint(mass))
    return Reading(criteria=criteria, met=met, relevant=any_of(hint(met), asks))


def tumour_lump_young(knee: Knee) -> Reading:
    """NICE NG12: an unexplained growing lump in a child or young person."""
    criteria = {"lump": _mass(knee), "growing": knee.said("lump_growing")}
    lump, growing = criteria.values()
    return Reading(
        criteria=criteria,
        met=all_of(lump, growing),
        relevant=all_of(
            child(knee, under_years=YOUNG_YEARS),
            unless(lump_explained(knee) and not growing, hint(lump)),
        ),
    )


def _mass(knee: Knee) -> Truth:
    """Say whether there is a lump, by hand or by the patient's word; a size is a lump."""
    told = any_of(knee.said("lump_noticed"), knee.said("lump_growing"))
    felt = any_of(*map(knee.has, ("palpable_mass", "popliteal_mass", "joint_line_lump")))
    return any_of(
        felt, hint(told), hint(knee.has("mass_firm_fixed")), hint(given(knee.measure("mass_size"), bool))
    )


def _hard_mass(knee: Knee) -> Truth:
    return all_of(knee.has("palpable_mass"), knee.has("mass_firm_fixed"))


def _nerve_suffers(knee: Knee) -> Truth:
    """Say whether a nerve of this leg answers a tap, or is lost here and not in the other foot alike."""
    lost = any_of(numb_foot(knee), weak_foot(knee))
    alike = any_of(numb_foot(knee.across), weak_foot(knee.across))
    return any_of(knee.has("tinel_fibular_neck"), all_of(lost, alike is not True))


def _unexplained(knee: Knee) -> Truth:
    """Say whether no fresh injury is known that explains the pain."""
    return injured_within(knee, FRESH_DAYS) is not True
