"""Tumour: bone pain, masses, and the wasted or stiff knee of a young person that nothing explains."""

from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, all_of, any_of, given, hint, negate
from fabella.flags.picture import stiff, tender_bone
from fabella.flags.reading import Reading
from fabella.flags.story import FRESH_DAYS, child, injured_within, persistent

YOUNG_YEARS = 25  # "young person" in NICE NG12: up to 24 (from memory)
ARTHRITIS_YEARS = 45
MASS_CM = 5.0  # 5 cm itself counts


def tumour_bone_young(knee: Knee) -> Reading:
    """NICE NG12: unexplained bone pain or swelling in a child or young person."""
    criteria = {
        "bone_swelling": any_of(knee.has("bony_enlargement"), _hard_mass(knee)),
        "bone_tender": tender_bone(knee),
        "night_or_rest_pain": _night_or_rest(knee),
    }
    return Reading(
        criteria=criteria,
        met=any_of(*criteria.values()),
        relevant=all_of(child(knee, under_years=YOUNG_YEARS), knee.complained_of, _unexplained(knee)),
    )


def tumour_wasting_young(knee: Knee) -> Reading:
    """Persistent pain with wasting or stiffness and no injury in a young person."""
    wasted = any_of(*map(knee.has, ("quadriceps_wasting", "calf_wasting", "hamstring_wasting")))
    criteria = {"persistent": persistent(knee), "wasting": wasted, "stiff": stiff(knee)}
    lasting, *signs = criteria.values()
    mechanical = any_of(knee.said("locking"), knee.said("giving_way"))
    return Reading(
        criteria=criteria,
        met=all_of(lasting, any_of(*signs)),
        relevant=all_of(
            child(knee, under_years=YOUNG_YEARS), knee.complained_of, _unexplained(knee), hint(any_of(*signs))
        ),
        excluded=mechanical is True,
    )


def tumour_bone_pain(knee: Knee) -> Reading:
    """Scottish guideline: bone pain that is not mechanical, at any age."""
    pointer = any_of(*map(knee.said, ("cancer_history", "active_cancer", "weight_loss")))
    younger = child(knee, under_years=ARTHRITIS_YEARS)
    criteria = {
        "night_or_rest_pain": _night_or_rest(knee),
        "bone_tender": tender_bone(knee),
        "persistent": persistent(knee),
        "cancer": pointer,
        "bone_swelling": all_of(younger, knee.has("bony_enlargement")),
    }
    at_night, tender, lasting, cancer, swelling = criteria.values()
    arthritic = all_of(negate(younger), knee.said("activity_pain"), stiff(knee))
    return Reading(
        criteria=criteria,
        met=any_of(at_night, swelling, all_of(tender, any_of(lasting, cancer))),
        relevant=all_of(
            knee.complained_of,
            _unexplained(knee),
            hint(any_of(at_night, tender, cancer, swelling)),
            any_of(arthritic is not True, cancer),
        ),
    )


def tumour_mass(knee: Knee) -> Reading:
    """Scottish guideline: large, growing, deep or fixed."""
    criteria = {
        "mass": _mass(knee),
        "five_cm": given(knee.measure("mass_size"), lambda cm: cm >= MASS_CM),
        "growing": knee.said("lump_growing"),
        "deep_or_fixed": knee.has("mass_firm_fixed"),
    }
    mass, *features = criteria.values()
    return Reading(criteria=criteria, met=all_of(mass, any_of(*features)), relevant=hint(mass))


def tumour_lump_young(knee: Knee) -> Reading:
    """NICE NG12: an unexplained growing lump in a child or young person."""
    criteria = {"lump": _mass(knee), "growing": knee.said("lump_growing")}
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(child(knee, under_years=YOUNG_YEARS), hint(criteria["lump"])),
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


def _night_or_rest(knee: Knee) -> Truth:
    return any_of(knee.said("night_pain"), knee.said("rest_pain"))


def _unexplained(knee: Knee) -> Truth:
    """Say whether no fresh injury is known that explains the pain."""
    return injured_within(knee, FRESH_DAYS) is not True
