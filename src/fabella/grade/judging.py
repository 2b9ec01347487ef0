"""From levels to a verdict, with the reasons for it."""

from __future__ import annotations

from fabella.grade.measured import Measured
from fabella.grade.result import Verdict, Why
from fabella.grade.thresholds import Reading
from fabella.record import Finding, State

MARKED = 0.75
"""Share of the way up a scale of three or more levels from which a finding is marked (judgement)."""

Judged = tuple[Verdict, tuple[Why, ...]]


def abnormal(level: int, *, levels: int) -> Verdict:
    """Return abnormal, or markedly abnormal near the top of a scale that has degrees."""
    top = levels - 1
    return Verdict.MARKEDLY_ABNORMAL if top > 1 and level >= MARKED * top else Verdict.ABNORMAL


def examined(other: Finding | None) -> bool:
    """Say whether the other side was examined and could be tested."""
    return other is not None and other.state not in {State.NOT_EXAMINED, State.UNTESTABLE}


def judge_reported(
    level: int | None,
    *,
    levels: int,
    other: Finding | None,
    other_level: int | None,
    sided: bool,
    alike: bool,
) -> Judged:
    """Return the verdict on a level that the examiner reported.

    Parameters
    ----------
    level, other_level
        Positions on the scale, 0 normal; None for "abnormal, grade not given" (this side) or nothing reported
        (other side).
    levels
        How many the scale has.
    other
        The finding on the other side, None when nothing is stated.
    sided
        Whether the sign has a right and a left.
    alike
        Whether its first degree is the way some healthy people are made, provided that both sides are alike.
    """
    if level == 0:
        return Verdict.NORMAL, (Why.LEVEL_REPORTED,)
    alone = (Why.OTHER_SIDE_NOT_EXAMINED,) if sided and not examined(other) else ()
    if level is None:
        return Verdict.ABNORMAL, (Why.LEVEL_NOT_GIVEN, *alone)
    if alike and level == 1 and alone:
        return Verdict.CANNOT_JUDGE, (Why.LEVEL_REPORTED, *alone)
    if alike and level == 1 and other_level == 1:
        return Verdict.WITHIN_NORMAL_LIMITS, (Why.LEVEL_REPORTED, Why.SIDES_ALIKE)
    return abnormal(level, levels=levels), (Why.LEVEL_REPORTED, *alone)


def judge_measured(
    measured: Measured, *, finding: Finding, other: Finding | None, reading: Reading, levels: int
) -> Judged:
    """Return the verdict on a value.

    A value that is abnormal by itself or by the norm is so whatever the other side; otherwise the difference
    to the other side decides, and where sides are to be compared, nothing does without it.
    """
    value_level = max(measured.level(Why.BY_VALUE_ALONE) or 0, measured.level(Why.BY_NORM) or 0)
    if measured.stand_in:
        return _judge_stand_in(value_level, other=other, levels=levels)
    if value_level:
        by_norm = (measured.level(Why.BY_NORM) or 0) == value_level
        return abnormal(value_level, levels=levels), (Why.BY_NORM if by_norm else Why.BY_VALUE_ALONE,)
    if measured.beyond:
        return _judge_beyond(measured, other=other, reading=reading)
    if measured.other_beyond:
        return Verdict.NORMAL, (Why.BY_VALUE_ALONE, Why.OTHER_SIDE_GOES_BEYOND)
    side_level = measured.level(Why.BY_SIDE_DIFFERENCE)
    if side_level:
        return _judge_difference(side_level, measured, finding=finding, reading=reading, levels=levels)
    if reading.side is not None and side_level is None:
        missing = Why.OTHER_SIDE_NOT_MEASURED if examined(other) else Why.OTHER_SIDE_NOT_EXAMINED
        return Verdict.CANNOT_JUDGE, _with(missing, measured.norm_why)
    if not measured.seen:
        return Verdict.CANNOT_JUDGE, (measured.norm_why or Why.NO_RULE,)
    reasons = tuple(seen.by for seen in measured.seen)
    if measured.near_limit:
        return Verdict.WITHIN_NORMAL_LIMITS, reasons
    return Verdict.NORMAL, reasons


def _judge_difference(
    level: int, measured: Measured, *, finding: Finding, reading: Reading, levels: int
) -> Judged:
    by, worse_by, error, rule = Why.BY_SIDE_DIFFERENCE, measured.worse_by, measured.error, reading.side
    if error is None or worse_by is None or rule is None:
        return abnormal(level, levels=levels), (by, Why.ERROR_UNKNOWN)
    assumed = (Why.METHOD_ASSUMED,) if error.assumed else ()
    if worse_by <= error.detectable:
        return Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR, (by, Why.WITHIN_ERROR, *assumed)
    reaches = rule.healthy_from is None or (finding.value is not None and finding.value >= rule.healthy_from)
    if rule.healthy is not None and worse_by <= rule.healthy and reaches:
        return Verdict.WITHIN_NORMAL_LIMITS, (by, Why.BEYOND_ERROR, Why.HEALTHY_ASYMMETRY, *assumed)
    return abnormal(level, levels=levels), (by, Why.BEYOND_ERROR, *assumed)


def _judge_beyond(measured: Measured, *, other: Finding | None, reading: Reading) -> Judged:
    """Judge a side that went too far the better way: loose if only it does, supple if both do."""
    if measured.worse_by is None or reading.side is None:
        missing = Why.OTHER_SIDE_NOT_MEASURED if examined(other) else Why.OTHER_SIDE_NOT_EXAMINED
        return Verdict.CANNOT_JUDGE, (Why.GOES_BEYOND, missing)
    excess, error = -measured.worse_by, measured.error
    if excess < reading.side.starts[0].at:
        return Verdict.WITHIN_NORMAL_LIMITS, (Why.GOES_BEYOND, Why.SIDES_ALIKE)
    if error is not None and excess <= error.detectable:
        return Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR, (Why.GOES_BEYOND, Why.WITHIN_ERROR)
    return Verdict.ABNORMAL, (Why.GOES_BEYOND, Why.BEYOND_ERROR)


def _judge_stand_in(level: int, *, other: Finding | None, levels: int) -> Judged:
    """Judge a value read alone because the other side has none: the first degree is not enough."""
    if examined(other) and other is not None and other.state is State.NORMAL:
        verdict = abnormal(level, levels=levels) if level else Verdict.NORMAL
        return verdict, (Why.BY_VALUE_ALONE, Why.OTHER_SIDE_NOT_MEASURED)
    why = Why.OTHER_SIDE_NOT_MEASURED if examined(other) else Why.OTHER_SIDE_NOT_EXAMINED
    if level > 1:
        return abnormal(level, levels=levels), (Why.BY_VALUE_ALONE, why)
    return Verdict.CANNOT_JUDGE, (Why.BY_VALUE_ALONE, why)


def _with(first: Why, second: Why | None) -> tuple[Why, ...]:
    return (first,) if second is None else (first, second)
