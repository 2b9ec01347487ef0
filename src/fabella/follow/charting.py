"""From a course to its charts."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise

from fabella.anatomy import Side
from fabella.evidence import Edition
from fabella.follow.chart import BandKind, BandMark, Chart, Expected, Kind, Mark, ticks
from fabella.follow.course import Course, LesionSeries, MeasurePoint, MeasureSeries, TotalPoint, TotalSeries
from fabella.follow.milestones import curves
from fabella.follow.standing import Expectation
from fabella.record import SCORES, Procedure, ProcedureName

LESION_FROM = 0.20
"""Highest probability of any visit from which a lesion is worth following (judgement)."""

_DAYS_IN_A_WEEK = 7.0
_DIGITS = 9  # so that 32.7 - 1 is 31.7 and a reading there lies within the band


def charts_of(course: Course, *, edition: Edition) -> tuple[Chart, ...]:
    """Return a chart of every measurement and total seen twice, and of every lesion that was ever likely."""
    return tuple(_charts(course, edition))


def _charts(course: Course, edition: Edition) -> Iterator[Chart]:
    for measure in course.measures:
        if measure.steps:
            yield _of_measure(measure, course, edition)
    for total in course.totals:
        if total.steps:
            yield _of_total(total, course, edition)
    for lesion in course.lesions:
        if len(lesion.points) > 1 and max(point.probability for point in lesion.points) >= LESION_FROM:
            yield _of_lesion(lesion, course)


def _of_measure(series: MeasureSeries, course: Course, edition: Edition) -> Chart:
    start = series.points[0].day
    errors = [None if each.error is None else each.error.detectable for each in series.from_first]
    others = (
        point
        for each in course.measures
        if each.sign == series.sign and series.side is not None and each.side not in {None, series.side}
        for point in each.points
    )
    return _chart(
        kind=Kind.MEASURE,
        subject=series.sign,
        side=series.side,
        unit=series.unit,
        points=series.points,
        other=[point for point in others if point.day >= start],
        errors=errors,
        course=course,
        edition=edition,
    )


def _of_total(series: TotalSeries, course: Course, edition: Edition) -> Chart:
    errors = [None if each.detectable is None else each.detectable.high for each in series.from_first]
    score = SCORES[series.score]
    return _chart(
        kind=Kind.TOTAL,
        subject=series.score,
        side=series.side,
        unit="points",
        points=series.points,
        other=(),
        errors=errors,
        course=course,
        edition=edition,
        within=(score.low, score.high),
    )


def _of_lesion(series: LesionSeries, course: Course) -> Chart:
    start = series.points[0].day
    marks = tuple(Mark(day=(p.day - start).days, turn=p.turn, value=p.probability) for p in series.points)
    return Chart(
        kind=Kind.LESION,
        subject=series.lesion,
        side=series.side,
        unit="probability",
        start=start,
        days=marks[-1].day,
        points=marks,
        other=(),
        band=tuple(
            BandMark(day=mark.day, turn=mark.turn, low=point.low, high=point.high)
            for mark, point in zip(marks, series.points, strict=True)
        ),
        band_kind=BandKind.INTERVAL,
        expected=(),
        operations=_operations(_done(course, series.side), start, marks[-1].day),
        ticks=(0.0, 0.25, 0.5, 0.75, 1.0),
    )


def _chart(
    *,
    kind: Kind,
    subject: str,
    side: Side | None,
    unit: str,
    points: Sequence[MeasurePoint | TotalPoint],
    other: Sequence[MeasurePoint],
    errors: Sequence[float | None],
    course: Course,
    edition: Edition,
    within: tuple[float, float] = (-math.inf, math.inf),
) -> Chart:
    start, first = points[0].day, points[0].value

    def placed(point: MeasurePoint | TotalPoint) -> Mark:
        return Mark(day=(point.day - start).days, turn=point.turn, value=point.value)

    marks = tuple(map(placed, points))
    days = marks[-1].day
    beside = tuple(mark for mark in map(placed, other) if mark.day <= days)
    known = [(mark, error) for mark, error in zip(marks[1:], errors, strict=True) if error is not None]
    band = tuple(
        BandMark(
            day=mark.day,
            turn=mark.turn,
            low=max(round(first - error, _DIGITS), within[0]),
            high=min(round(first + error, _DIGITS), within[1]),
        )
        for mark, error in ([(marks[0], known[0][1]), *known] if known else ())
    )
    done = _done(course, side)
    expected = tuple(_expected(done, subject, start, days, edition))
    shown = [
        *(mark.value for mark in (*marks, *beside)),
        *(end for each in band for end in (each.low, each.high)),
        *(mark.value for each in expected for mark in (*each.marks, *each.line)),
    ]
    return Chart(
        kind=kind,
        subject=subject,
        side=side,
        unit=unit,
        start=start,
        days=days,
        points=marks,
        other=beside,
        band=band,
        band_kind=BandKind.SINCE_FIRST,
        expected=expected,
        operations=_operations(done, start, days),
        ticks=ticks(min(shown), max(shown)),
    )


def _done(course: Course, side: Side | None) -> tuple[Procedure, ...]:
    """Return everything that was done to a knee, or to either when the side is not said, in time."""
    done = {
        each for visit in course.visits for each in visit.procedures if side is None or side in each.sides
    }
    return tuple(sorted(done, key=lambda each: (each.on, each.sides)))


def _operations(done: Sequence[Procedure], start: date, days: int) -> tuple[tuple[int, ProcedureName], ...]:
    since = (((each.on - start).days, each.name) for each in done)
    return tuple(dict.fromkeys((day, name) for day, name in since if 0 <= day <= days))


def _expected(
    done: Sequence[Procedure], subject: str, start: date, days: int, edition: Edition
) -> Iterator[Expected]:
    """Yield what is published for the last operation, source by source, on the days that the chart shows."""
    for procedure in done[-1:]:
        since = (procedure.on - start).days
        for curve in curves(procedure.name, edition=edition):
            if curve.subject != subject or curve.of_difference:
                continue
            placed = [(since + weeks * _DAYS_IN_A_WEEK, value) for weeks, value in curve.line]
            marks = tuple(Mark(day=round(day), value=value) for day, value in placed if 0 <= day <= days)
            usual = curve.expectation is Expectation.USUAL
            line = tuple(_clipped(placed, days)) if usual else ()
            if marks or line:
                yield Expected(
                    expectation=curve.expectation,
                    procedure=procedure.name,
                    source=curve.source,
                    statistic=curve.statistic,
                    marks=marks,
                    line=line,
                )


def _clipped(placed: Sequence[tuple[float, float]], days: int) -> Iterator[Mark]:
    """Yield the straight lines between the time points, cut off where the chart ends."""
    for (day, value), (then, later) in pairwise(placed):
        low, high = max(day, 0.0), min(then, float(days))
        if low >= high:
            continue
        for at in (low, high):
            yield Mark(day=round(at), value=value + (later - value) * (at - day) / (then - day))
