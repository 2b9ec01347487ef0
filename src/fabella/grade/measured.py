"""A measurement read as a level: by its difference to the other side, by itself, and by the norm."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fabella.evidence import Edition
from fabella.grade.bands import band_of
from fabella.grade.norms import Choice, choose_norm, near_a_limit, norm_badness
from fabella.grade.precision import error_of
from fabella.grade.result import BandUsed, ErrorUsed, NormUsed, Why
from fabella.grade.thresholds import Reading, Start, Thresholds, Worse
from fabella.grade.weights import Weights, even, level_of, level_weights, worst_of
from fabella.record import Finding, Patient
from fabella.stats import difference_sem

_DIGITS = 9  # so that 8.2 - 5.2 is 3 and reaches the grade that begins at 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One way in which a value was read: which, as what level, with what doubt."""

    by: Why
    level: int
    weights: Weights


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Everything that a value says by itself, before anything is judged.

    ``seen`` holds every reading that applies; ``near_limit`` tells that a value within the norm lies nearer
    to its limit than to its middle, ``norm_why`` why the norm cannot judge; ``stand_in`` that the value alone
    had to stand in for an unknown other side; ``beyond`` that this side went too far the better way, and
    ``other_beyond`` that the other did and is no yardstick for this healthy one.
    """

    seen: tuple[Seen, ...]
    weights: Weights
    difference: float | None
    worse_by: float | None
    error: ErrorUsed | None
    norm: NormUsed | None
    norm_why: Why | None
    near_limit: bool
    band: BandUsed | None
    stand_in: bool
    beyond: bool
    other_beyond: bool
    stands_for: str | None

    def level(self, by: Why) -> int | None:
        """Return the level read in one way, None when it was not read so."""
        return next((seen.level for seen in self.seen if seen.by is by), None)


def measure_finding(
    finding: Finding,
    other: Finding | None,
    *,
    reading: Reading,
    levels: int,
    edition: Edition,
    patient: Patient,
    thresholds: Thresholds,
) -> Measured:
    """Return what the value of a finding says; the finding must have one.

    A value that no rule can read leaves all levels equally likely.
    """
    value = 0.0 if finding.value is None else finding.value
    difference, worse_by = _difference(value, other, reading)

    def error_by(method: str | None) -> ErrorUsed | None:
        unit = finding.unit or ""
        return error_of(reading, method=method, unit=unit, edition=edition, thresholds=thresholds)

    own = error_by(finding.method)
    others = own if other is None or difference is None else error_by(other.method)
    beyond, other_beyond = _beyond(value, other, reading)
    choice = _absolute_norm(reading, edition=edition, patient=patient)
    norm = choice.norm if choice.norm is not None and choice.norm.may_cut else None
    ways = (
        None if other_beyond else _by_side_difference(worse_by, reading, own, others),
        _by_value_alone(value, worse_by, reading, own),
        _by_norm(value, norm, reading, own, levels=levels),
    )
    seen = tuple(each for each in ways if each is not None)
    return Measured(
        seen=seen,
        weights=worst_of([each.weights for each in seen]) if seen else even(levels=levels),
        difference=difference,
        worse_by=worse_by,
        error=_wider(own, others),
        norm=_norm_shown(reading, choice, worse_by, edition=edition, patient=patient),
        norm_why=choice.why,
        near_limit=norm is not None and near_a_limit(norm, value, worse=reading.worse),
        band=None
        if worse_by is None or not reading.scale
        else band_of(worse_by, edition.bands(reading.scale)),
        stand_in=worse_by is None and reading.alone is not None and reading.alone.spread is not None,
        beyond=beyond,
        other_beyond=other_beyond,
        stands_for=_stands_for(reading, choice, value),
    )


def _by_side_difference(
    worse_by: float | None, reading: Reading, own: ErrorUsed | None, others: ErrorUsed | None
) -> Seen | None:
    if reading.side is None or worse_by is None:
        return None
    sd = difference_sem(sem=_sem(own), other_sem=_sem(others or own))
    return _seen(Why.BY_SIDE_DIFFERENCE, worse_by, reading.side.starts, sd=sd)


def _by_value_alone(
    value: float, worse_by: float | None, reading: Reading, own: ErrorUsed | None
) -> Seen | None:
    """Return how a value is read by itself, None where it only stands in for an other side that is known."""
    alone = reading.alone
    if alone is None or (alone.spread is not None and worse_by is not None):
        return None
    sd = math.hypot(_sem(own), alone.spread or 0.0)
    badness = reading.worse.badness(value)
    return _seen(Why.BY_VALUE_ALONE, badness, alone.starts, sd=sd)


def _by_norm(
    value: float, norm: NormUsed | None, reading: Reading, own: ErrorUsed | None, *, levels: int
) -> Seen | None:
    """Return how a value is read by a norm that may judge one patient, None where it has no limit there."""
    if reading.norm is None or norm is None:
        return None
    read = norm_badness(norm, value, reading=reading, rule=reading.norm, levels=levels)
    return None if read is None else _seen(Why.BY_NORM, *read, sd=_sem(own))


def _seen(by: Why, badness: float, starts: tuple[Start, ...], *, sd: float) -> Seen:
    weights = level_weights(badness, starts, sd=sd)
    return Seen(by=by, level=level_of(badness, starts), weights=weights)


def _sem(error: ErrorUsed | None) -> float:
    return 0.0 if error is None else error.sem


def _difference(value: float, other: Finding | None, reading: Reading) -> tuple[float | None, float | None]:
    """Return this side minus the other, and the same counted so that more is worse."""
    if reading.is_difference:
        return value, abs(value) if reading.worse is Worse.AWAY else reading.worse.badness(value)
    if other is None or other.value is None:
        return None, None
    difference = round(value - other.value, _DIGITS)
    return difference, None if reading.worse is Worse.AWAY else reading.worse.badness(difference)


def _beyond(value: float, other: Finding | None, reading: Reading) -> tuple[bool, bool]:
    """Say whether this side went too far the better way, and whether the other did beside a healthy one."""
    rule = reading.side
    if rule is None or rule.beyond is None:
        return False, False
    other_beyond = other is not None and other.value is not None and other.value > rule.beyond
    healthy = rule.healthy_from is None or value >= rule.healthy_from
    return value > rule.beyond, other_beyond and healthy


def _wider(first: ErrorUsed | None, second: ErrorUsed | None) -> ErrorUsed | None:
    """Return the larger error: sides read by different methods are only as sure as the coarser one."""
    known = [error for error in (first, second) if error is not None]
    return max(known, key=lambda error: error.detectable, default=None)


def _absolute_norm(reading: Reading, *, edition: Edition, patient: Patient) -> Choice:
    if reading.norm is None:
        return Choice(norm=None, why=None)
    rule = reading.norm
    return choose_norm(rule.measures, edition=edition, patient=patient, first=rule.first, factor=rule.factor)


def _norm_shown(
    reading: Reading, choice: Choice, worse_by: float | None, *, edition: Edition, patient: Patient
) -> NormUsed | None:
    """Return the norm to show: that of the side difference where there is one, else that of the value."""
    if worse_by is None or reading.side is None or not reading.side.norms:
        return choice.norm
    return choose_norm(reading.side.norms, edition=edition, patient=patient).norm or choice.norm


def _stands_for(reading: Reading, choice: Choice, value: float) -> str | None:
    if reading.worse is not Worse.AWAY:
        return reading.stands_for.get(reading.worse)
    if choice.norm is None or choice.norm.low is None or choice.norm.high is None:
        return None
    upward = value >= (choice.norm.low + choice.norm.high) / 2
    return reading.stands_for.get(Worse.HIGHER if upward else Worse.LOWER)
