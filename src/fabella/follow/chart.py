"""A series as pure data for a drawing: days along, values up, bands, and what is published for the time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from fabella.anatomy import Side
from fabella.follow.standing import Expectation
from fabella.record import ProcedureName

_TICKS = 5  # at most, between the ends of the axis


class Kind(StrEnum):
    """What a chart is about."""

    MEASURE = "measure"
    TOTAL = "total"
    LESION = "lesion"


class BandKind(StrEnum):
    """What the ends of a band mean."""

    SINCE_FIRST = "since_first"  # a reading within it is no larger a change than the error allows
    INTERVAL = "interval"  # the 90 % interval of a probability


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One value on a day, counted from the first visit; ``turn`` is its place among that day's visits."""

    day: int
    value: float
    turn: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class BandMark:
    """Both ends of a band on a day, at one of its visits."""

    day: int
    low: float
    high: float
    turn: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What one source gives after an operation, on the days within the chart.

    ``marks`` are its own time points, ``line`` joins them and ends where the chart does: straight lines of
    ours between numbers of theirs. A criterion has marks and no line.
    """

    expectation: Expectation
    procedure: ProcedureName
    source: str
    statistic: str
    marks: tuple[Mark, ...]
    line: tuple[Mark, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Everything a drawing of one series shows; days count from ``start``, values are in ``unit``.

    ``other`` is the same of the other knee; ``operations`` are the days on which something was done to this
    one. The band is empty where no error is known.
    """

    kind: Kind
    subject: str
    side: Side | None
    unit: str
    start: date
    days: int
    points: tuple[Mark, ...]
    other: tuple[Mark, ...]
    band: tuple[BandMark, ...]
    band_kind: BandKind
    expected: tuple[Expected, ...]
    operations: tuple[tuple[int, ProcedureName], ...]
    ticks: tuple[float, ...]

    @property
    def low(self) -> float:
        """The lower end of the axis of values."""
        return self.ticks[0]

    @property
    def high(self) -> float:
        """The upper end of the axis of values."""
        return self.ticks[-1]


def ticks(low: float, high: float) -> tuple[float, ...]:
    """Return round values from below ``low`` to above ``high``: steps of 1, 2 or 5 times a power of ten."""
    span = max(high - low, 1e-6)
    raw = span / _TICKS
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(each * power for each in (1, 2, 5, 10) if each * power >= raw * (1 - 1e-9))
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    last = max(last, first + 1)
    return tuple(round(index * step, 10) for index in range(first, last + 1))
