"""A knee after an operation: what went wrong with it is told by the day it was done, not by an injury."""

from fabella.flags.explanations import unless
from fabella.flags.knee import Knee
from fabella.flags.logic import all_of, any_of, given, hint
from fabella.flags.picture import feverish, hot, nerve_sign, restricted, swollen
from fabella.flags.reading import Reading
from fabella.flags.story import RECENT_DAYS, WOUND_DAYS, began_after_operation, operated_within
from fabella.record import ProcedureName

STIFF_FLEXION_DEG = 90.0  # common practice: by then nearly all bend to a right angle
STIFF_SHORT_DEG = 15.0  # judgement: more than the 11 degrees usual in the first weeks (Kornuijt 2019)
STIFF_FROM_DAYS, STIFF_AFTER_TENDON_DAYS = 42, 84  # judgement: a sutured tendon is bent later
STIFF_UNTIL_DAYS = 182  # judgement: later it is scar, and no longer presses


def operated_joint_infection(knee: Knee) -> Reading:
    """A native joint that was opened: it drains, or is more than warm, or the patient is ill."""
    operated = operated_within(knee, WOUND_DAYS)
    turbid = knee.is_at_least("haemarthrosis_aspirate", "turbid")
    blood = knee.is_at_least("haemarthrosis_aspirate", "blood")
    criteria = {
        "operated": operated or None,
        "wound": any_of(knee.has("open_wound"), knee.has("sinus")),
        "fever_or_unwell": feverish(knee),
        "red_or_hot": any_of(knee.has("erythema"), knee.is_at_least("warmth", "hot")),
        "swollen": swollen(knee),
        "restricted": restricted(knee),
        "turbid_aspirate": all_of(turbid, blood is not True),
    }
    done, wound, ill, inflamed, full, stiff, pus = criteria.values()
    inside = all_of(inflamed, full, stiff)
    feverish_knee = all_of(ill, any_of(full, hot(knee), stiff))
    return Reading(
        criteria=criteria,
        met=all_of(done, any_of(wound, pus, inside, feverish_knee)),
        relevant=all_of(done, hint(any_of(wound, ill, inflamed, pus))),
        excluded=knee.replaced is True,
    )


def nerve_after_operation(knee: Knee) -> Reading:
    """A foot that drops or is numb in the first six weeks: pressed by a dressing, a bleed, or stretched."""
    criteria = {
        "operated": operated_within(knee, RECENT_DAYS) or None,
        "foot_drop": nerve_sign(knee, "foot_drop"),
        "peroneal_sensation": nerve_sign(knee, "peroneal_sensation"),
        "tibial_motor": nerve_sign(knee, "tibial_nerve_motor"),
        "tibial_sensation": nerve_sign(knee, "tibial_nerve_sensation"),
    }
    done, *signs = criteria.values()
    return Reading(
        criteria=criteria, met=all_of(done, any_of(*signs)), relevant=all_of(done, hint(any_of(*signs)))
    )


def stiff_after_operation(knee: Knee) -> Reading:
    """Short of a right angle, or of straight, when most knees have long reached both."""
    done = knee.examination.procedure_of(knee.side)
    tendon = done is not None and done.name is ProcedureName.EXTENSOR_REPAIR
    since = knee.examination.days_since_operation(knee.side)
    starts = STIFF_AFTER_TENDON_DAYS if tendon else STIFF_FROM_DAYS
    bends = knee.measure("passive_flexion")
    bends = knee.measure("active_flexion") if bends is None else bends
    criteria = {
        "operated": given(since, lambda days: starts <= days <= STIFF_UNTIL_DAYS),
        "flexion_below_90": given(bends, lambda deg: deg < STIFF_FLEXION_DEG),
        "short_of_straight": any_of(
            given(knee.measure("passive_extension"), lambda deg: deg <= -STIFF_SHORT_DEG),
            given(knee.measure("fixed_flexion"), lambda deg: deg >= STIFF_SHORT_DEG),
        ),
    }
    due, bent, short = criteria.values()
    return Reading(
        criteria=criteria,
        met=all_of(due, any_of(bent, short)),
        relevant=unless(any_of(bent, short) is not True, hint(due)),
        excluded=began_after_operation(knee),
    )
