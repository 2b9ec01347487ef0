"""What is published for the time since an operation, and where the patient stands beside it.

A row counts for a visit when its time point is met within half a week or a tenth of it, whichever is more
(judgement). Between two time points of one source the number is taken from the straight line and marked so,
with the two as its ends: knees recover fast at first, so that the true mean lies between them, seldom on the
line. Before its first and after its last time point a source says nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from math import inf, isfinite
from typing import Any

from fabella.evidence import Edition, Milestone
from fabella.follow.standing import Expectation
from fabella.packaged import packaged_table
from fabella.record import SCORES, ProcedureName

_DAYS_IN_A_WEEK = 7
_WEEKS = {"week": 1.0, "month": 365.25 / 12 / 7, "year": 365.25 / 7}
_TIME = re.compile(r"(\d+(?:\.\d+)?)(?:-(\d+(?:\.\d+)?))? (week|month|year)s?(?: \(SD [\d.]+\))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """What one source gives for one moment: a number with its printed ends, as printed or between rows."""

    subject: str
    of_difference: bool
    expectation: Expectation
    expected: float
    low: float | None
    high: float | None
    rows: tuple[Milestone, ...]

    @property
    def interpolated(self) -> bool:
        """Whether the number lies between two rows."""
        return len(self.rows) > 1


@dataclass(frozen=True, slots=True, kw_only=True)
class _Placed:
    """A row of the tables that is a milestone, and from when to when it holds, in weeks."""

    row: Milestone
    subject: str
    of_difference: bool
    expectation: Expectation
    first: float
    last: float

    @property
    def slack(self) -> float:
        return max(0.5, 0.1 * self.last)

    def holds_at(self, weeks: float) -> bool:
        return self.first - self.slack <= weeks <= self.last + self.slack


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """The milestones of one source for one measure and statistic, in time."""

    placed: tuple[_Placed, ...]

    @property
    def subject(self) -> str:
        """The sign or score."""
        return self.placed[0].subject

    @property
    def of_difference(self) -> bool:
        """Whether it is about a shortfall from the other side."""
        return self.placed[0].of_difference

    @property
    def expectation(self) -> Expectation:
        """What kind of number it is."""
        return self.placed[0].expectation

    @property
    def source(self) -> str:
        """Author and year."""
        return self.placed[0].row.source.short

    @property
    def statistic(self) -> str:
        """What is printed: mean, median, threshold."""
        return self.placed[0].row.statistic

    @property
    def items(self) -> tuple[str, ...]:
        """The rows of the edition."""
        return tuple(each.row.item_id for each in self.placed)

    @property
    def line(self) -> tuple[tuple[float, float], ...]:
        """The numbers as (weeks, value), each time point at its middle; ``any`` has no place in time."""
        return tuple(
            ((each.first + each.last) / 2, each.row.estimate.value)
            for each in self.placed
            if isfinite(each.last) and each.row.estimate.value is not None
        )


def _table() -> Mapping[str, Any]:
    return packaged_table("follow/milestones.toml")


def weeks_between(start: date, end: date) -> float:
    """Return how many weeks lie between two days."""
    return (end - start).days / _DAYS_IN_A_WEEK


def span_weeks(timepoint: str) -> tuple[float, float] | None:
    """Return the first and last week of a printed time point; None when it is no time since the operation.

    ``1-2 weeks`` is (1, 2), ``any`` is (0, infinity); ``leaving hospital`` is None, and so is ``start``,
    which tells in whom a programme began.
    """
    if timepoint == "any":
        return 0.0, inf
    match = _TIME.fullmatch(timepoint)
    if match is None:
        return None
    unit = _WEEKS[match[3]]
    return float(match[1]) * unit, float(match[2] or match[1]) * unit


def milestones_due(procedure: ProcedureName, *, weeks: float, edition: Edition) -> Iterator[Due]:
    """Yield everything published for so many weeks after an operation, source by source."""
    for curve in curves(procedure, edition=edition):
        placed = curve.placed
        if met := [each for each in placed if each.holds_at(weeks)]:
            nearest = min(met, key=lambda each: abs((each.first + each.last) / 2 - weeks))
            yield _due(nearest, nearest.row.estimate.value)
            continue
        before = [each for each in placed if each.last < weeks]
        after = [each for each in placed if each.first > weeks]
        if before and after and curve.expectation is Expectation.USUAL:
            yield _between(before[-1], after[0], weeks)


def curves(procedure: ProcedureName, *, edition: Edition) -> tuple[Curve, ...]:
    """Return the milestones of an operation, those of one source, measure and statistic together, in time."""
    groups: dict[tuple[object, ...], list[_Placed]] = {}
    for row in edition.recovery:
        placed = _place(row, procedure)
        if placed is not None:
            key = (row.source.key, row.procedure_or_population, row.measure_id, row.statistic)
            groups.setdefault(key, []).append(placed)
    return tuple(Curve(placed=tuple(sorted(group, key=lambda each: each.first))) for group in groups.values())


def _place(row: Milestone, procedure: ProcedureName) -> _Placed | None:
    kind = _table()["statistics"].get(row.statistic)
    meant = _table()["measures"].get(row.measure_id)
    if row.measure_id in SCORES:
        meant = {"sign": row.measure_id}
    span = span_weeks(row.timepoint)
    ours = row.procedure_or_population in _table()["procedures"].get(procedure, ())
    if kind is None or meant is None or span is None or not ours or row.estimate.value is None:
        return None
    of_difference = bool(meant.get("difference"))
    expectation = Expectation(kind)
    if of_difference and expectation is Expectation.AT_LEAST:
        expectation = Expectation.AT_MOST  # a shortfall that may not be exceeded
    return _Placed(
        row=row,
        subject=meant["sign"],
        of_difference=of_difference,
        expectation=expectation,
        first=span[0],
        last=span[1],
    )


def _due(placed: _Placed, expected: float | None) -> Due:
    estimate = placed.row.estimate
    return Due(
        subject=placed.subject,
        of_difference=placed.of_difference,
        expectation=placed.expectation,
        expected=0.0 if expected is None else expected,
        low=estimate.low,
        high=estimate.high,
        rows=(placed.row,),
    )


def _between(before: _Placed, after: _Placed, weeks: float) -> Due:
    """Return the value on the straight line between two rows, with the values of both as its ends."""
    start, end = before.row.estimate.value or 0.0, after.row.estimate.value or 0.0
    share = (weeks - before.last) / (after.first - before.last)
    return Due(
        subject=before.subject,
        of_difference=before.of_difference,
        expectation=before.expectation,
        expected=start + share * (end - start),
        low=min(start, end),
        high=max(start, end),
        rows=(before.row, after.row),
    )
