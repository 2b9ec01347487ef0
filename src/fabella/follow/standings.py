"""Every reading and total of a knee that was operated on, beside what is published for that time."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from fabella.anatomy import Side
from fabella.anatomy import other as other_side
from fabella.evidence import Edition
from fabella.follow.bars import detectable_bar
from fabella.follow.milestones import Due, milestones_due, weeks_between
from fabella.follow.precision import Precision
from fabella.follow.standing import Expectation, Place, Standing
from fabella.follow.visits import DatedTotal, Seen, procedures_by
from fabella.grade.thresholds import Worse
from fabella.record import SCORES, Procedure

_DIGITS = 9  # so that 4.4 - 2.4 is 2 and no more than what may be missing


@dataclass(frozen=True, slots=True, kw_only=True)
class _Own:
    """The patient's number, its error (half-width, None unknown) and whether more of it is better."""

    day: date
    value: float
    unit: str
    error: float | None
    more_is_better: bool


def standings(
    seen: Sequence[Seen], totals: Sequence[DatedTotal], *, edition: Edition, precision: Precision
) -> Iterator[Standing]:
    """Yield where the patient stands: at each visit, on each operated knee, beside each source."""
    yield from _of_readings(seen, edition, precision)
    yield from _of_totals(seen, totals, edition)


def _of_readings(seen: Sequence[Seen], edition: Edition, precision: Precision) -> Iterator[Standing]:
    for each in seen:
        for procedure in procedures_by(each.day, seen):
            (side,) = procedure.sides
            for due in _due_on(each.day, procedure, edition):
                own = None if due.subject in SCORES else _reading(each, side, due, precision)
                if own is not None:
                    yield _stand(own, due, procedure, side, is_total=False)


def _of_totals(seen: Sequence[Seen], totals: Sequence[DatedTotal], edition: Edition) -> Iterator[Standing]:
    for total in totals:
        for procedure in _asked_about(total, procedures_by(total.day, seen)):
            for due in _due_on(total.day, procedure, edition):
                if due.subject == total.total.score:
                    own = _total(total, procedure, edition)
                    yield _stand(own, due, procedure, total.total.side, is_total=True)


def _asked_about(total: DatedTotal, done: Sequence[Procedure]) -> tuple[Procedure, ...]:
    """Return what was done to the knee of a total; the same on one day to both is told of once."""
    side = total.total.side
    if side is not None:
        return tuple(each for each in done if side in each.sides)
    return tuple({(each.name, each.on): each for each in done}.values())


def _due_on(day: date, procedure: Procedure, edition: Edition) -> Iterator[Due]:
    return milestones_due(procedure.name, weeks=weeks_between(procedure.on, day), edition=edition)


def _reading(seen: Seen, side: Side, due: Due, precision: Precision) -> _Own | None:
    """Return the reading that a milestone is about, or by how much this side falls short of the other."""
    found = seen.examination.finding(due.subject, side)
    opposite = seen.examination.finding(due.subject, other_side(side))
    reading = precision.reading(due.subject)
    if found is None or found.value is None or found.unit is None or reading is None:
        return None
    used = precision.of(reading, found.method, unit=found.unit, same=True)
    sure = None if used is None else used.detectable / math.sqrt(2)  # of one reading, not of two
    if not due.of_difference:
        more_is_better = reading.worse is Worse.LOWER
        return _Own(
            day=seen.day, value=found.value, unit=found.unit, error=sure, more_is_better=more_is_better
        )
    if opposite is None or opposite.value is None:
        return None
    return _Own(
        day=seen.day,
        value=round(opposite.value - found.value, _DIGITS),
        unit=found.unit,
        error=None if used is None else used.detectable,
        more_is_better=False,
    )


def _total(total: DatedTotal, procedure: Procedure, edition: Edition) -> _Own:
    bar = detectable_bar(total.total.score, procedure=procedure.name, edition=edition)
    error = None if bar is None else bar.high / math.sqrt(2)
    return _Own(day=total.day, value=total.total.value, unit="points", error=error, more_is_better=True)


def _stand(own: _Own, due: Due, procedure: Procedure, side: Side | None, *, is_total: bool) -> Standing:
    first = due.rows[0]
    return Standing(
        subject=due.subject,
        is_total=is_total,
        side=side,
        of_difference=due.of_difference,
        day=own.day,
        procedure=procedure.name,
        on=procedure.on,
        weeks=weeks_between(procedure.on, own.day),
        value=own.value,
        unit=own.unit,
        expected=due.expected,
        low=due.low,
        high=due.high,
        expectation=due.expectation,
        place=_place(own, due),
        error=own.error,
        beyond_error=None if own.error is None else _distance(own, due) > own.error,
        interpolated=due.interpolated,
        statistic=first.statistic,
        timepoints=tuple(row.timepoint for row in due.rows),
        population=first.procedure_or_population,
        source=first.source.short,
        recalled=any(row.recalled for row in due.rows),
        items=tuple(row.item_id for row in due.rows),
    )


def _distance(own: _Own, due: Due) -> float:
    """Return how far the reading lies from the published number, or from the nearer of two time points."""
    if not due.interpolated or due.low is None or due.high is None:
        return abs(own.value - due.expected)
    return max(due.low - own.value, own.value - due.high, 0.0)


def _place(own: _Own, due: Due) -> Place:
    if due.expectation is Expectation.AT_LEAST:
        return Place.REACHED if own.value >= due.expected else Place.NOT_REACHED
    if due.expectation is Expectation.AT_MOST:
        return Place.REACHED if own.value <= due.expected else Place.NOT_REACHED
    if _distance(own, due) == 0:
        return Place.LEVEL
    return Place.BETTER if (own.value > due.expected) is own.more_is_better else Place.WORSE
