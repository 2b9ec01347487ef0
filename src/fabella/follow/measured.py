"""Measurements over the visits: what is a change of the knee, and what only of the reading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from fabella.anatomy import Side
from fabella.anatomy import other as other_side
from fabella.follow.course import MeasureChange, MeasurePoint, MeasureSeries
from fabella.follow.precision import Precision
from fabella.follow.verdicts import ChangeVerdict, ChangeWhy, compare_pairs
from fabella.follow.visits import Seen
from fabella.grade import ErrorUsed, choose_norm
from fabella.grade.thresholds import Reading, Worse
from fabella.protocol import Protocol
from fabella.record import Patient

_DIGITS = 9  # so that 46.3 - 45 is 1.3 and a change of exactly the error is not beyond it
_EITHER_WAY = frozenset({"calf_girth"})
"""Signs that get worse both ways, though their grading looks one way: a calf may swell or waste."""

Judged = tuple[ChangeVerdict, tuple[ChangeWhy, ...]]


def measure_series(
    seen: Sequence[Seen], *, precision: Precision, protocol: Protocol
) -> Iterator[MeasureSeries]:
    """Yield a series for every sign and side of which at least one reading was taken, in the body's order."""
    for sign in sorted(protocol.signs, key=lambda each: each.order):
        measure = sign.scale.measure
        if measure is None or sign.is_history:
            continue
        for side in (None,) if sign.is_person else tuple(Side):
            points = tuple(_points(seen, sign.id, side, unit=measure.unit.value, precision=precision))
            if not points:
                continue
            compare = partial(
                _change,
                sign=sign.id,
                unit=measure.unit.value,
                precision=precision,
                patient=seen[-1].examination.patient,
            )
            steps, from_first = compare_pairs(points, compare)
            yield MeasureSeries(
                sign=sign.id,
                side=side,
                unit=measure.unit.value,
                points=points,
                steps=steps,
                from_first=from_first,
            )


def _points(
    seen: Sequence[Seen], sign: str, side: Side | None, *, unit: str, precision: Precision
) -> Iterator[MeasurePoint]:
    reading = precision.reading(sign)
    compared = reading is not None and not reading.is_difference
    for each in seen:
        found = each.examination.finding(sign, side)
        if found is None or found.value is None:
            continue
        opposite = None if side is None else each.examination.finding(sign, other_side(side))
        other = None if opposite is None or not compared else opposite.value
        yield MeasurePoint(
            day=each.day,
            turn=each.turn,
            value=found.value,
            method=found.method,
            examiner=each.examination.examiner,
            error=None if reading is None else precision.of(reading, found.method, unit=unit, same=True),
            difference=None if other is None else round(found.value - other, _DIGITS),
        )


def _change(  # noqa: PLR0917 - the two points, the rest is bound by name
    earlier: MeasurePoint,
    later: MeasurePoint,
    sign: str,
    unit: str,
    precision: Precision,
    patient: Patient,
) -> MeasureChange:
    """Return the change of one reading to a later one, held against its error."""
    reading = precision.reading(sign)
    difference = round(later.value - earlier.value, _DIGITS)
    same = earlier.examiner is not None and earlier.examiner == later.examiner
    error: ErrorUsed | None = None
    caveats: tuple[ChangeWhy, ...] = (ChangeWhy.ERROR_UNKNOWN,)
    if reading is not None:
        methods = earlier.method, later.method
        error, caveats = precision.between(reading, methods, unit=unit, same=same)
    better_by, unsure = None, ChangeWhy.DIRECTION_UNKNOWN
    if reading is not None and sign not in _EITHER_WAY:
        better_by, unsure = _better(
            earlier.value, later.value, reading=reading, middle=_middle(reading, precision, patient)
        )
    verdict, reasons = _judge(
        difference, better_by, unsure, detectable=None if error is None else error.detectable
    )
    return MeasureChange(
        since=earlier.day,
        until=later.day,
        methods=(earlier.method, later.method),
        difference=difference,
        better_by=better_by,
        error=error,
        verdict=verdict,
        reasons=(*reasons, *(why for why in caveats if why not in reasons)),
    )


def _judge(
    difference: float, better_by: float | None, unsure: ChangeWhy, *, detectable: float | None
) -> Judged:
    if detectable is None:
        return ChangeVerdict.CANNOT_JUDGE, ()
    if abs(difference) <= detectable:
        return ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR, (ChangeWhy.WITHIN_ERROR,)
    if better_by is None or abs(better_by) <= detectable:
        return ChangeVerdict.CANNOT_JUDGE, (ChangeWhy.BEYOND_ERROR, unsure)
    better = better_by > 0
    verdict = ChangeVerdict.TRUE_CHANGE_BETTER if better else ChangeVerdict.TRUE_CHANGE_WORSE
    return verdict, (ChangeWhy.BEYOND_ERROR,)


def _better(
    earlier: float, later: float, *, reading: Reading, middle: float | None
) -> tuple[float | None, ChangeWhy]:
    """Return how much better the later value is, and why that cannot be told when it is None.

    More extension is better up to a limit: beyond it a knee may have become loose.
    """
    beyond = None if reading.side is None else reading.side.beyond
    if beyond is not None and max(earlier, later) > beyond:
        return None, ChangeWhy.GOES_BEYOND
    if reading.worse is not Worse.AWAY:
        then, now = reading.worse.badness(earlier), reading.worse.badness(later)
        if reading.is_difference:  # below 0 it is the other knee that falls short
            then, now = max(then, 0.0), max(now, 0.0)
        better_by = then - now
        return round(better_by, _DIGITS), ChangeWhy.DIRECTION_UNKNOWN
    usual = 0.0 if reading.is_difference else middle
    if usual is None:
        return None, ChangeWhy.DIRECTION_UNKNOWN
    return round(abs(earlier - usual) - abs(later - usual), _DIGITS), ChangeWhy.DIRECTION_UNKNOWN


def _middle(reading: Reading, precision: Precision, patient: Patient) -> float | None:
    """Return the middle of the norm that a reading may lie to either side of."""
    rule = reading.norm
    if reading.worse is not Worse.AWAY or rule is None:
        return None
    norm = choose_norm(
        rule.measures, edition=precision.edition, patient=patient, first=rule.first, factor=rule.factor
    ).norm
    if norm is None:
        return None
    if norm.mean is None and norm.low is not None and norm.high is not None:
        return (norm.low + norm.high) / 2
    return norm.mean
