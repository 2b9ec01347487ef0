"""The mechanism of the knee: extensor rupture, a displaced patella, a locked knee, a torn meniscus."""

from fabella.flags.explanations import unless
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, agreed, all_of, any_of, denial, given, hint, negate
from fabella.flags.picture import out_of_shape, short_of_straight
from fabella.flags.reading import Reading
from fabella.flags.story import RECENT_DAYS, child, injured, persistent, recent_injury, within_days
from fabella.record import Acuity

AGAINST_GRAVITY = "2"  # power 3 lifts the leg, 2 does not (Medical Research Council scale)
LAG_DEG = 10.0  # judgement: beyond the error of a goniometer
OLD_STIFFNESS_YEARS = 45  # judgement
MENISCUS_YEARS = (18, 30)  # under 30: NHS Tayside; adults only
TENDONS = frozenset({"quadriceps_tendon_rupture", "patellar_tendon_rupture"})
_TESTED_IN_PLACE = (
    "patellar_apprehension",
    "moving_patellar_apprehension",
    "patellar_glide_increased",
    "patellar_glide_reduced",
    "patellar_tracking",
    "j_sign",
)
"""Signs of a patella that lies in its groove: who tests them has seen it there."""


def extensor_rupture(knee: Knee) -> Reading:
    """Straight-leg raise in every acutely injured knee; a gap speaks for itself.

    A leg raised straight, or held so, answers the question: then only a gap that was felt speaks, or a tendon
    that an image shows torn.
    """
    cannot_hold = agreed(
        hint(knee.is_at_least("straight_leg_raise", "unable")),
        denial(knee.has("straight_leg_raise")),
        hint(knee.is_at_least("active_knee_extension", "unable")),
        denial(knee.has("active_knee_extension")),
        hint(knee.is_at_least("knee_extension_strength", AGAINST_GRAVITY)),
        denial(knee.has("knee_extension_strength")),
    )
    gaps = ("palpable_gap_quadriceps", "palpable_gap_patellar_tendon", "patellar_bone_gap")
    lag = False if cannot_hold else _lag(knee)  # a leg that is not lifted at all has none
    criteria = {
        "no_straight_leg_raise": cannot_hold,
        "lag": all_of(recent_injury(knee), lag),
        "gap": any_of(*map(knee.has, gaps)),
        "shown": not knee.shown.isdisjoint(TENDONS),
    }
    broken = any_of(*criteria.values())
    held = cannot_hold is False and not _measured_lag(knee)
    return Reading(
        criteria=criteria,
        met=broken,
        relevant=any_of(unless(held, recent_injury(knee)), hint(broken)),
        excluded=_injured_long_ago(knee) is True,
    )


def extensor_torn_long_ago(knee: Knee) -> Reading:
    """The same more than six weeks after an injury: no emergency, and yet worse with every month."""
    criteria = {"torn": knee.reading(extensor_rupture).met, "six_weeks": _injured_long_ago(knee)}
    met = all_of(*criteria.values())
    return Reading(criteria=criteria, met=met, relevant=hint(met))


def patella_still_displaced(knee: Knee) -> Reading:
    """A patella seen out of place now, or gone out at this injury in a knee that is still deformed."""
    criteria = {
        "displaced_now": knee.has("patella_dislocated_now"),
        "seen_displaced": knee.said("patella_seen_displaced"),
        "deformity": out_of_shape(knee),
    }
    now, seen, deformed = criteria.values()
    tested = now is None and any(knee.has(sign) is not None for sign in _TESTED_IN_PLACE)
    in_place = (now is False or tested) and not deformed
    return Reading(
        criteria=criteria,
        met=any_of(now, all_of(seen, deformed)),
        relevant=hint(any_of(now, unless(in_place, all_of(recent_injury(knee), seen)))),
        excluded=_long_troubled(knee) is True,
    )


def patella_long_displaced(knee: Knee) -> Reading:
    """A patella out of place in a knee that has troubled for more than six weeks: nobody pushes it back."""
    criteria = {"displaced_now": knee.has("patella_dislocated_now"), "six_weeks": _long_troubled(knee)}
    met = all_of(*criteria.values())
    return Reading(criteria=criteria, met=met, relevant=hint(met))


def locked_knee(knee: Knee) -> Reading:
    """A mechanical block to extension; pain alone and old stiffness are not locking."""
    block = knee.has("block_to_extension")
    straight = short_of_straight(knee) is False
    short = any_of(short_of_straight(knee), hint(knee.said("unable_to_straighten")))
    criteria = {"mechanical_block": block, "stuck": knee.said("locking"), "short_of_straight": short}
    met = any_of(block, all_of(criteria["stuck"], short))
    return Reading(
        criteria=criteria,
        met=met,
        relevant=any_of(
            hint(met),
            unless(straight, hint(criteria["stuck"])),
            all_of(recent_injury(knee), hint(short)),
        ),
        excluded=any_of(_old_stiffness(knee), _long_blocked(knee)) is True,
    )


def block_that_stayed(knee: Knee) -> Reading:
    """A block of more than six weeks that does not come and go: no emergency, yet nothing to accept."""
    criteria = {"mechanical_block": knee.has("block_to_extension"), "six_weeks": _long_blocked(knee)}
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=hint(all_of(*criteria.values())),
        excluded=_old_stiffness(knee) is True,
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


def _lag(knee: Knee) -> Truth:
    """Say whether the leg is lifted but not held straight; one raised straight has no lag."""
    return agreed(
        knee.is_at_least("straight_leg_raise", "lag"),
        hint(knee.has("active_knee_extension")),
        hint(_measured_lag(knee)),
    )


def _measured_lag(knee: Knee) -> Truth:
    return given(knee.measure("extensor_lag"), lambda deg: deg >= LAG_DEG)


def _old_stiffness(knee: Knee) -> Truth:
    return all_of(
        negate(child(knee, under_years=OLD_STIFFNESS_YEARS)),
        persistent(knee),
        negate(injured(knee)),
        negate(knee.said("locking")),
    )


def _long_blocked(knee: Knee) -> Truth:
    """Say whether the complaint is older than six weeks and does not come as true locking."""
    return all_of(_long_troubled(knee), negate(knee.said("locking")))


def _long_troubled(knee: Knee) -> Truth:
    """Say whether the complaint is older than six weeks; of one that is called acute it is unknown."""
    long = negate(within_days(knee, RECENT_DAYS))
    return None if long and knee.context.acuity is Acuity.ACUTE else long


def _injured_long_ago(knee: Knee) -> Truth:
    """Say whether this knee was injured, and more than six weeks ago; what came by itself has no such day."""
    return all_of(injured(knee), _long_troubled(knee))
