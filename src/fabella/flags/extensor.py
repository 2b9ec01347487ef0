"""The mechanism of the knee: extensor rupture, a displaced patella, a locked knee, a torn meniscus."""

from fabella.flags.knee import Knee
from fabella.flags.logic import agreed, all_of, any_of, denial, given, hint, negate
from fabella.flags.picture import short_of_straight
from fabella.flags.reading import Reading
from fabella.flags.story import child, injured, persistent, recent_injury

AGAINST_GRAVITY = "2"  # power 3 lifts the leg, 2 does not (Medical Research Council scale)
OLD_STIFFNESS_YEARS = 45  # judgement
MENISCUS_YEARS = (18, 30)  # under 30: NHS Tayside; adults only


def extensor_rupture(knee: Knee) -> Reading:
    """Straight-leg raise in every acutely injured knee; a gap speaks for itself."""
    cannot_hold = agreed(
        hint(knee.is_at_least("straight_leg_raise", "unable")),
        denial(knee.has("straight_leg_raise")),  # a lag may be pain: neither able nor unable
        hint(knee.is_at_least("active_knee_extension", "unable")),
        denial(knee.has("active_knee_extension")),
        hint(knee.is_at_least("knee_extension_strength", AGAINST_GRAVITY)),
    )
    gaps = ("palpable_gap_quadriceps", "palpable_gap_patellar_tendon", "patellar_bone_gap")
    criteria = {"no_straight_leg_raise": cannot_hold, "gap": any_of(*map(knee.has, gaps))}
    broken = any_of(*criteria.values())
    return Reading(
        criteria=criteria,
        met=broken,
        relevant=any_of(recent_injury(knee), hint(broken)),
    )


def patella_still_displaced(knee: Knee) -> Reading:
    """A patella seen out of place now, or gone out at this injury in a knee that is still deformed."""
    criteria = {
        "displaced_now": knee.has("patella_dislocated_now"),
        "seen_displaced": knee.said("patella_seen_displaced"),
        "deformity": knee.has("deformity"),
    }
    now, seen, deformed = criteria.values()
    return Reading(
        criteria=criteria,
        met=any_of(now, all_of(seen, deformed)),
        relevant=hint(any_of(now, all_of(recent_injury(knee), seen))),
    )


def locked_knee(knee: Knee) -> Reading:
    """A mechanical block to extension; pain alone and old stiffness are not locking."""
    block = knee.has("block_to_extension")
    short = any_of(short_of_straight(knee), hint(knee.said("unable_to_straighten")))
    criteria = {"mechanical_block": block, "stuck": knee.said("locking"), "short_of_straight": short}
    old = all_of(
        negate(child(knee, under_years=OLD_STIFFNESS_YEARS)),
        persistent(knee),
        negate(injured(knee)),
        negate(criteria["stuck"]),
    )
    return Reading(
        criteria=criteria,
        met=any_of(block, all_of(criteria["stuck"], short)),
        relevant=any_of(hint(block), hint(criteria["stuck"]), all_of(recent_injury(knee), hint(short))),
        excluded=old is True,
    )


def meniscus_after_injury(knee: Knee) -> Reading:
    """Under 30 with a good history of an acute tear."""
    adult, limit = MENISCUS_YEARS
    tests = ("joint_line_tenderness", "joint_line_tenderness_medial", "joint_line_tenderness_lateral")
    provoked = ("mcmurray", "mcmurray_medial", "mcmurray_lateral", "thessaly_20")
    criteria = {
        "recent_injury": recent_injury(knee),
        "mechanical_symptom": any_of(knee.said("locking"), knee.said("catching")),
        "meniscal_sign": any_of(*map(knee.has, (*tests, *provoked))),
    }
    symptom = criteria["mechanical_symptom"]
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(child(knee, under_years=limit), recent_injury(knee), hint(symptom)),
        excluded=given(knee.age_years, lambda years: years < adult or years >= limit) is True,
    )
