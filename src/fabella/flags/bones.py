"""Infection of the bone, of a child and of an adult, and its like in sickle cell disease."""

from fabella.flags.infection import more_than_injury, septic_joint_adult
from fabella.flags.knee import Knee
from fabella.flags.logic import all_of, any_of, hint, negate
from fabella.flags.picture import feverish, hot, night_or_rest_pain, swollen, tender_bone
from fabella.flags.reading import Reading
from fabella.flags.story import FRESH_DAYS, child, injured_within, operated_lately, within_days

GROWN_YEARS = 18


def osteomyelitis_child(knee: Knee) -> Reading:
    """Fever, or an infection lately, with bone pain or an unused leg in a growing limb."""
    infected = any_of(*map(knee.said, ("skin_infection", "recent_gut_or_urethral_infection")))
    criteria = {
        "fever_or_unwell": feverish(knee),
        "recent_infection": infected,
        "bone_tender": tender_bone(knee),
        "night_or_rest_pain": night_or_rest_pain(knee),
        "leg_not_used": knee.has("unable_to_weight_bear"),
    }
    ill, infected, tender, at_rest, unused = criteria.values()
    return Reading(
        criteria=criteria,
        met=any_of(all_of(ill, any_of(tender, at_rest, unused)), all_of(infected, any_of(tender, unused))),
        relevant=all_of(
            child(knee, under_years=GROWN_YEARS),
            knee.complained_of,
            hint(any_of(ill, infected, unused)),
            more_than_injury(knee),
        ),
    )


def osteomyelitis_adult(knee: Knee) -> Reading:
    """Fever with tender bone in an adult, whose joint is not what is infected by its own rule."""
    criteria = {
        "fever_or_unwell": feverish(knee),
        "bone_tender": tender_bone(knee),
    }
    ill, tender = criteria.values()
    return Reading(
        criteria=criteria,
        met=all_of(ill, tender),
        relevant=all_of(
            negate(child(knee, under_years=GROWN_YEARS)),
            knee.complained_of,
            hint(ill),
            hint(tender),
            more_than_injury(knee),
        ),
        excluded=knee.replaced is True or operated_lately(knee) or knee.reading(septic_joint_adult).rings,
    )


def sickle_cell_bone_pain(knee: Knee) -> Reading:
    """Pain of days, or a fever, in sickle cell disease: an infarct of bone, or its infection."""
    at_rest = night_or_rest_pain(knee)
    criteria = {
        "sickle_cell": knee.said("sickle_cell"),
        "fresh_or_ill": any_of(within_days(knee, FRESH_DAYS), feverish(knee)),
        "bone_or_joint": any_of(
            tender_bone(knee), swollen(knee), hot(knee), at_rest, knee.has("unable_to_weight_bear")
        ),
    }
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(
            knee.complained_of,
            hint(criteria["sickle_cell"]),
            injured_within(knee, FRESH_DAYS) is not True,
        ),
    )
