"""Findings that cannot both be true of any pair of knees, however odd.

Few and explicit: what is merely unlikely is for the conclusion to weigh, never for the file to refuse.
Each rule is a matter of geometry or of words (common practice), not of evidence.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.record.examination import Answer
from fabella.record.finding import Finding, State

_DAYS_IN_A_YEAR = 366  # the longest, so that rounding never makes a contradiction


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """Two statements at odds: the places of both in the list of findings, and why."""

    earlier: int
    later: int
    why: str


@dataclass(frozen=True, slots=True)
class _Rule:
    one: str
    other: str
    why: str
    clash: Callable[[Finding, Finding], bool]


def _both(one: Finding, other: Finding) -> bool:
    return one.state is State.ABNORMAL and other.state is State.ABNORMAL


def _bends_less_than_fixed(bend: Finding, fixed: Finding) -> bool:
    return bend.value is not None and fixed.value is not None and bend.value < fixed.value


def _bends_less_than_shortfall(bend: Finding, extension: Finding) -> bool:
    return bend.value is not None and extension.value is not None and bend.value < -extension.value


def _beyond_straight_and_fixed(extension: Finding, fixed: Finding) -> bool:
    return (extension.value or 0) > 0 and (fixed.value or 0) > 0


def _recurved_and_fixed(recurvatum: Finding, fixed: Finding) -> bool:
    return recurvatum.state is State.ABNORMAL and (fixed.value or 0) > 0


def _recurved_and_short(recurvatum: Finding, extension: Finding) -> bool:
    return recurvatum.state is State.ABNORMAL and (extension.value or 0) < 0


_LESS_THAN_FIXED = "no knee bends less than the bend in which it is fixed"
_LESS_THAN_SHORT = "no knee bends less than it falls short of straight"
_STRAIGHT_AND_NOT = "no knee goes beyond straight and falls short of it"
_BOTH_GREATER = "the difference from the other side has opposite signs on the two sides"

# Signs whose value is this side minus the other.
DIFFERENCES = ("heel_height_difference", "leg_length_difference")

RULES = (
    _Rule("passive_flexion", "fixed_flexion", _LESS_THAN_FIXED, _bends_less_than_fixed),
    _Rule("active_flexion", "fixed_flexion", _LESS_THAN_FIXED, _bends_less_than_fixed),
    _Rule("passive_flexion", "passive_extension", _LESS_THAN_SHORT, _bends_less_than_shortfall),
    _Rule("passive_extension", "fixed_flexion", _STRAIGHT_AND_NOT, _beyond_straight_and_fixed),
    _Rule("recurvatum", "fixed_flexion", _STRAIGHT_AND_NOT, _recurved_and_fixed),
    _Rule("recurvatum", "passive_extension", _STRAIGHT_AND_NOT, _recurved_and_short),
    _Rule("standing_recurvatum", "standing_fixed_flexion", _STRAIGHT_AND_NOT, _both),
    _Rule("varus_alignment", "valgus_alignment", "no knee is bowed both ways", _both),
    _Rule("hindfoot_varus", "hindfoot_valgus", "no heel is tilted both ways", _both),
    _Rule("flat_foot", "high_arch", "no arch is both low and high", _both),
    _Rule("high_riding_patella", "low_riding_patella", "no patella rides both high and low", _both),
)


def contradictions(placed: Mapping[int, Finding]) -> Iterator[Contradiction]:
    """Yield every pair of findings that cannot both be true.

    ``placed`` holds the findings by their place in the list; of a sign stated twice the first counts.
    """
    where: dict[tuple[str, Side | None], int] = {}
    for place, finding in placed.items():
        where.setdefault((finding.sign, finding.side), place)
    for rule in RULES:
        for side in Side:
            one, other = where.get((rule.one, side)), where.get((rule.other, side))
            if one is None or other is None or not rule.clash(placed[one], placed[other]):
                continue
            yield Contradiction(earlier=min(one, other), later=max(one, other), why=rule.why)
    for sign in DIFFERENCES:
        right, left = where.get((sign, Side.RIGHT)), where.get((sign, Side.LEFT))
        if right is None or left is None:
            continue
        if (placed[right].value or 0) * (placed[left].value or 0) > 0:
            yield Contradiction(earlier=min(right, left), later=max(right, left), why=_BOTH_GREATER)


def swelling_contradicts(history: Mapping[str, Answer]) -> bool:
    """Return whether a swelling that was not noticed has an hour of onset."""
    return history.get("swelling_noticed") is False and "swelling_onset_hours" in history


def onset_before_birth(age_years: float | None, onset_days: float | None) -> bool:
    """Return whether a complaint is older than a patient, who may be a year older than ``age_years`` says."""
    return age_years is not None and onset_days is not None and onset_days > (age_years + 1) * _DAYS_IN_A_YEAR
