"""Totals of questionnaires over time: one verdict on what error hides, another on what patients notice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import partial

from fabella.anatomy import Side
from fabella.evidence import Edition
from fabella.follow.bars import detectable_bar, important_bar
from fabella.follow.course import ScoreBar, TotalChange, TotalPoint, TotalSeries
from fabella.follow.verdicts import ChangeVerdict, Importance, compare_pairs
from fabella.follow.visits import DatedTotal, Seen, procedures_by
from fabella.record import SCORES, ProcedureName


def all_totals(seen: Sequence[Seen], sent: Iterable[DatedTotal]) -> tuple[DatedTotal, ...]:
    """Return the totals of the visits and those that came between them, in the order of time."""
    told = [
        DatedTotal(day=each.day, total=total, turn=each.turn)
        for each in seen
        for total in each.examination.totals
    ]
    return tuple(sorted((*told, *sent), key=lambda each: each.day))


def total_series(
    totals: Sequence[DatedTotal], seen: Sequence[Seen], *, edition: Edition
) -> Iterator[TotalSeries]:
    """Yield a series for every score and side, in the order of the list of scores."""
    for score in SCORES:
        for side in (*Side, None):
            own = (each for each in totals if each.total.score == score and each.total.side is side)
            points = tuple(_points(own))
            if not points:
                continue
            procedure = _procedure(seen, points[-1], side)
            compare = partial(
                change_of,
                detectable=detectable_bar(score, procedure=procedure, edition=edition),
                important=important_bar(score, procedure=procedure, edition=edition),
            )
            steps, from_first = compare_pairs(points, compare)
            yield TotalSeries(score=score, side=side, points=points, steps=steps, from_first=from_first)


def _points(totals: Iterable[DatedTotal]) -> Iterator[TotalPoint]:
    """Yield totals in time; one that came by post takes its turn behind that of a visit of the same day."""
    day, turn = None, -1
    for each in totals:
        turn = max(each.turn, turn + 1) if each.day == day else each.turn
        day = each.day
        yield TotalPoint(day=each.day, turn=turn, value=each.total.value)


def _procedure(seen: Sequence[Seen], last: TotalPoint, side: Side | None) -> ProcedureName | None:
    done = procedures_by(last.day, seen)
    names = {each.name for each in done if side is None or side in each.sides}
    return names.pop() if len(names) == 1 else None


def change_of(
    earlier: TotalPoint,
    later: TotalPoint,
    *,
    detectable: ScoreBar | None,
    important: ScoreBar | None,
) -> TotalChange:
    """Return a change of a total with its two verdicts, neither of which follows from the other.

    A change is beyond error when it exceeds the detectable change; it is important from the published
    threshold on. Between two published thresholds it is perhaps important.
    """
    difference = round(later.value - earlier.value, 9)  # so that 7.1 - 6 is 1.1
    return TotalChange(
        since=earlier.day,
        until=later.day,
        difference=difference,
        detectable=detectable,
        verdict=_verdict(difference, detectable),
        important=important,
        importance=_importance(abs(difference), important),
    )


def _verdict(difference: float, bar: ScoreBar | None) -> ChangeVerdict:
    if bar is None:
        return ChangeVerdict.CANNOT_JUDGE
    if abs(difference) <= bar.high:
        return ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR
    return ChangeVerdict.TRUE_CHANGE_BETTER if difference > 0 else ChangeVerdict.TRUE_CHANGE_WORSE


def _importance(size: float, bar: ScoreBar | None) -> Importance:
    if bar is None:
        return Importance.CANNOT_JUDGE
    if size >= bar.high:
        return Importance.IMPORTANT
    return Importance.PERHAPS_IMPORTANT if size >= bar.low else Importance.NOT_IMPORTANT
