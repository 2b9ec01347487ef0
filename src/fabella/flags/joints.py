"""Inflamed joints: persistent synovitis and morning stiffness."""

from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, agreed, all_of, any_of, given, hint
from fabella.flags.picture import hot, swollen
from fabella.flags.reading import Reading
from fabella.flags.story import FRESH_DAYS, injured_within, persistent

STIFFNESS_MIN = 30.0  # 30 itself still fits osteoarthritis
PERSISTENT_SYNOVITIS_DAYS = 15  # more than 2 weeks


def inflammatory_arthritis(knee: Knee) -> Reading:
    """NICE QS33: suspected persistent synovitis in more than one joint."""
    here, there = (all_of(swollen(each), hot(each)) for each in (knee, knee.across))
    criteria = {
        "swollen": swollen(knee),
        "other_joints": any_of(knee.has("other_joints_swollen"), hint(all_of(here, there))),
        "persistent": persistent(knee, PERSISTENT_SYNOVITIS_DAYS),
    }
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(_unexplained(knee), hint(criteria["swollen"]), hint(criteria["other_joints"])),
        excluded=knee.said("known_inflammatory_arthritis") is True,
    )


def prolonged_stiffness(knee: Knee) -> Reading:
    """More than 30 minutes in the morning supports an inflammatory cause."""
    criteria = {"swollen": swollen(knee), "stiff_30_min": stiff_in_the_morning(knee)}
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(_unexplained(knee), hint(criteria["stiff_30_min"])),
        excluded=knee.said("known_inflammatory_arthritis") is True,
    )


def stiff_in_the_morning(knee: Knee) -> Truth:
    """Say whether the knee is stiff in the morning for longer than osteoarthritis makes it."""
    return agreed(given(knee.number_said("morning_stiffness_min"), lambda minutes: minutes > STIFFNESS_MIN))


def _unexplained(knee: Knee) -> Truth:
    return injured_within(knee, FRESH_DAYS) is not True
