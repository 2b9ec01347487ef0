"""The hip behind the knee: in every child with knee pain, in some adults; and a child's alignment."""

from fabella.flags.explanations import arthritic_hip, bled_after_injury, unless
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, agreed, all_of, any_of, given, hint, negate
from fabella.flags.picture import hip_free, hip_rotation_short, hot, swollen, tender_bone
from fabella.flags.reading import Reading
from fabella.flags.story import FRESH_DAYS, child, heals, injured_within, recent_injury

GROWN_YEARS = 18
FRAIL_YEARS = 65  # judgement: old enough for a hip broken by a fall from standing
SHORTER_CM = 1.0  # judgement
ALIGNMENT_AGES_YEARS = (3, 17)
VALGUS_LIMIT_DEG = 11.0  # 11 itself lies within (Arazi 2001)


def child_hip(knee: Knee) -> Reading:
    """Both hips in every child with knee pain: J Pediatr Orthop 1999 19:455.

    Rotation recorded as free and painless answers for its side; the other side asks when it hurts too. A knee
    that bled after an injury explains its pain itself; tender bone at the knee, or a knee that is hot or
    swollen beside a hip that turns freely, why the leg is not used (judgement).
    """
    criteria = {
        "rotation_reduced": hip_rotation_short(knee),
        "rotation_painful": knee.has("hip_rotation_pain"),
        "rolls_outward": knee.has("obligate_external_rotation"),
        "flexion_reduced": knee.has("hip_flexion_reduced"),
    }
    examined = any_of(*criteria.values())
    criteria["pointer"] = hint(_points_to_the_hip(knee))
    criteria["shown"] = "hip_disease" in knee.shown
    met = criteria["shown"] or agreed(examined, criteria["pointer"])
    return Reading(
        criteria=criteria,
        met=met,
        relevant=all_of(
            child(knee, under_years=GROWN_YEARS),
            any_of(
                unless(any_of(hip_free(knee), bled_after_injury(knee), heals(knee)), knee.complained_of),
                hint(met),
                criteria["pointer"],
            ),
        ),
    )


def adult_hip(knee: Knee) -> Reading:
    """A hip that hurts on rotation after a fall or a rise in training may be broken.

    Who fell at 65 or over and cannot walk is held open until the hip was turned (judgement).
    """
    criteria = {
        "rotation_painful": knee.has("hip_rotation_pain"),
        "injured_not_walking": all_of(recent_injury(knee), knee.has("unable_to_weight_bear")),
        "training": knee.said("training_increase"),
        "shown": "hip_disease" in knee.shown,
    }
    turns_badly, unable, training, shown = criteria.values()
    painful = any_of(turns_badly, shown)
    frail = negate(child(knee, under_years=FRAIL_YEARS))
    return Reading(
        criteria=criteria,
        met=all_of(painful, any_of(unable, training)),
        relevant=any_of(
            unless(arthritic_hip(knee) and not any_of(unable, training), hint(painful)),
            hint(all_of(frail, unable)),
        ),
        excluded=child(knee, under_years=GROWN_YEARS) is True,
    )


def child_alignment(knee: Knee) -> Reading:
    """Arazi 2001: from 3 to 17 years any varus, and valgus above 11 degrees, lay outside."""
    angle = knee.measure("tibiofemoral_angle")
    criteria = {
        "varus": given(angle, lambda deg: deg < 0),
        "valgus_above_11": given(angle, lambda deg: deg > VALGUS_LIMIT_DEG),
    }
    youngest, oldest = ALIGNMENT_AGES_YEARS
    return Reading(
        criteria=criteria,
        met=any_of(*criteria.values()),
        relevant=all_of(
            hint(given(angle, lambda _: True)),
            given(knee.age_years, lambda years: youngest <= years <= oldest),
        ),
    )


def _points_to_the_hip(knee: Knee) -> Truth:
    """Say whether the story or the way the leg lies and walks points to the hip.

    A short leg does not while the hip is known to turn inwards freely: a slipped or a sick head does not.
    """
    short = given(knee.measure("leg_length_difference"), lambda cm: cm <= -SHORTER_CM)
    shorter = unless(negate(hip_rotation_short(knee)), short)
    unused = all_of(knee.has("unable_to_weight_bear"), injured_within(knee, FRESH_DAYS) is not True)
    by_the_knee = any_of(tender_bone(knee), all_of(hip_free(knee), any_of(hot(knee), swollen(knee))))
    return any_of(
        knee.said("groin_pain"), knee.has("trendelenburg_gait"), shorter, unless(by_the_knee, unused)
    )
