"""Measurements of both knees, side by side, with their difference and what it is worth."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.record.contradictions import DIFFERENCES
from fabella.report.readings import HISTORY, Reading, Readings
from fabella.report.wording import quantity, signed


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurementRow:
    """One measurement: its name, both sides with unit (or ``not measured``), and the difference."""

    name: str
    right: str
    left: str
    difference: str


NOT_MEASURED = "not measured"


def measurement_rows(readings: Readings) -> tuple[MeasurementRow, ...]:
    """Return one row for every sign that was measured on a knee, in the examiner's order."""
    signs = dict.fromkeys(
        each.sign
        for each in readings.all
        if each.side is not None and each.value is not None and each.step != HISTORY
    )
    return tuple(_row(readings.find(sign, Side.RIGHT), readings.find(sign, Side.LEFT)) for sign in signs)


def _row(right: Reading | None, left: Reading | None) -> MeasurementRow:
    one = right if right is not None else left
    if one is None:
        raise ValueError("a row needs at least one side")
    return MeasurementRow(
        name=_name(one.name, right, left),
        right=_value(right),
        left=_value(left),
        difference=_difference(right, left),
    )


def _name(name: str, right: Reading | None, left: Reading | None) -> str:
    """What was measured and how: once where both sides were measured alike or one tells it for both."""
    told = {each.side: each.method for each in (right, left) if each is not None and each.method}
    if len(set(told.values())) > 1:
        return f"{name}, {', '.join(f'{side} {method}' for side, method in told.items())}"
    return ", ".join((name, *dict.fromkeys(told.values())))


def _value(reading: Reading | None) -> str:
    if reading is None or reading.value is None:
        return NOT_MEASURED
    return signed(reading.sign, reading.value, reading.unit)


def _difference(right: Reading | None, left: Reading | None) -> str:
    """The difference, and whether it exceeds the measurement error; empty when a side is missing."""
    if right is None or left is None or right.value is None or left.value is None:
        return ""
    apart = abs(right.value - left.value)
    if right.sign in DIFFERENCES:  # each side is told as the difference already
        apart = max(abs(right.value), abs(left.value))
    size = quantity(apart, right.unit)
    judged = {right.beyond_error, left.beyond_error} - {None}
    if not judged:
        return size
    return f"{size}, {'beyond' if True in judged else 'within'} error"
