"""Joints inflamed or worn: synovitis, morning stiffness, and osteoarthritis diagnosed without an image."""

from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, agreed, all_of, any_of, given, hint, negate
from fabella.flags.picture import hot, swollen
from fabella.flags.reading import Reading
from fabella.flags.story import FRESH_DAYS, injured_within, persistent
from fabella.protocol import Protocol
from fabella.record import Examination

STIFFNESS_MIN = 30.0  # 30 itself still fits osteoarthritis
PERSISTENT_SYNOVITIS_DAYS = 15  # more than 2 weeks
OSTEOARTHRITIS_YEARS = 45  # 45 itself counts


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
    criteria = {"swollen": swollen(knee), "stiff_30_min": _stiff_in_the_morning(knee)}
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(_unexplained(knee), hint(criteria["stiff_30_min"])),
        excluded=knee.said("known_inflammatory_arthritis") is True,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WithoutImaging:
    """Whether osteoarthritis of one knee may be diagnosed without an image.

    ``verdict`` is true, false, or None when a criterion is unknown; ``atypical`` names the features that ask
    for an image all the same.
    """

    side: Side
    verdict: Truth
    criteria: tuple[tuple[str, Truth], ...]
    atypical: tuple[str, ...]
    source: str


def oa_without_imaging(examination: Examination, side: Side, *, protocol: Protocol) -> WithoutImaging:
    """Say whether osteoarthritis may be diagnosed clinically on one side (NICE NG226, 2022).

    All of: aged 45 or over, pain with activity, morning stiffness absent or at most 30 minutes; and none of
    the atypical features that are known to be there. A criterion that was not asked leaves the verdict open.
    """
    knee = Knee(examination, side, protocol)
    criteria = {
        "45 or over": given(knee.age_years, lambda years: years >= OSTEOARTHRITIS_YEARS),
        "pain with activity": knee.said("activity_pain"),
        "morning stiffness of 30 minutes or less": negate(_stiff_in_the_morning(knee)),
    }
    features = {
        "recent injury": injured_within(knee, FRESH_DAYS),
        "prolonged morning stiffness": _stiff_in_the_morning(knee),
        "hot swollen joint": all_of(hot(knee), swollen(knee)),
        "worry about infection": any_of(knee.said("fever"), knee.said("rigors_or_unwell")),
        "worry about malignancy": any_of(*map(knee.said, ("active_cancer", "weight_loss", "night_pain"))),
    }
    atypical = tuple(name for name, truth in features.items() if truth)
    return WithoutImaging(
        side=side,
        verdict=all_of(*criteria.values(), not atypical),
        criteria=tuple(criteria.items()),
        atypical=atypical,
        source="NICE NG226 (2022)",
    )


def _stiff_in_the_morning(knee: Knee) -> Truth:
    return agreed(given(knee.number_said("morning_stiffness_min"), lambda minutes: minutes > STIFFNESS_MIN))


def _unexplained(knee: Knee) -> Truth:
    return injured_within(knee, FRESH_DAYS) is not True
