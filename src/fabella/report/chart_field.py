"""Where days and values lie in the field of a chart: time to scale, the visits of one day side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from fabella.follow import BandMark, Chart, Mark
from fabella.report.curves import Point, number

LEFT, RIGHT, TOP, BOTTOM = 15.0, 102.0, 20.0, 59.0  # the field, page millimetres
_INSET_MM = 3.0  # of the first and the last point from the ends of the field
_TURN_MM = 6.0  # between visits of one day, where there is room: a value stands above each
_DAY_MM = 16.0  # at most, from the first to the last visit of one day among others
_OF_GAP = 0.35  # of the way to the next day, at most, that half a day takes up


class Field:
    """Places on the page; a day of several visits is drawn as wide as it has to be to show each.

    The middle of each day is to scale. When all visits were on one day there is no scale of time: they stand
    in their order across the whole field.
    """

    def __init__(self, chart: Chart) -> None:
        self._chart = chart
        self._turns = _turns((*chart.points, *chart.other, *chart.band))
        self._half = self._halves()
        self._first = LEFT + _INSET_MM + self._half.get(0, 0.0)
        self._last = RIGHT - _INSET_MM - self._half.get(chart.days, 0.0)

    @property
    def shared_days(self) -> tuple[int, ...]:
        """The days of more than one visit."""
        return tuple(day for day, turns in self._turns.items() if len(turns) > 1)

    def x(self, day: float) -> float:
        """Return the middle of a day."""
        if not self._chart.days:
            return (LEFT + RIGHT) / 2
        return self._first + (self._last - self._first) * day / self._chart.days

    def xs(self, day: int) -> tuple[float, ...]:
        """Return the place of each visit of a day, in their order."""
        half, count = self._half[day], len(self._turns[day])
        if count == 1:
            return (self.x(day),)
        return tuple(self.x(day) - half + 2 * half * index / (count - 1) for index in range(count))

    def y(self, value: float) -> float:
        """Return the height of a value."""
        low, high = self._chart.low, self._chart.high
        return BOTTOM - (BOTTOM - TOP) * (value - low) / (high - low)

    def at_visit(self, mark: Mark) -> Point:
        """Return the place of what was found at a visit."""
        x = self.xs(mark.day)[self._turns[mark.day].index(mark.turn)]
        return round(x, 2), round(self.y(mark.value), 2)

    def on_day(self, mark: Mark) -> Point:
        """Return the place of what belongs to a day and to no visit of it."""
        return round(self.x(mark.day), 2), round(self.y(mark.value), 2)

    def area(self, band: Sequence[BandMark]) -> str:
        """Return the outline of a band, which spans a day even where only one of its visits has one."""
        low = [self.at_visit(Mark(day=each.day, turn=each.turn, value=each.low)) for each in band]
        high = [self.at_visit(Mark(day=each.day, turn=each.turn, value=each.high)) for each in band]
        return f"{path((*low, *reversed(high)))}Z" if band else ""

    def _halves(self) -> Mapping[int, float]:
        """Return half the width of each day on the page, 0 for a single visit."""
        whole = RIGHT - LEFT - 2 * _INSET_MM
        if not self._chart.days:
            return {day: whole / 2 if len(turns) > 1 else 0.0 for day, turns in self._turns.items()}
        gaps: dict[int, list[float]] = {day: [] for day in self._turns}
        for day, then in pairwise(self._turns):
            for each in (day, then):
                gaps[each].append(whole * (then - day) / self._chart.days)
        return {
            day: min(_TURN_MM * (len(turns) - 1), _DAY_MM, 2 * _OF_GAP * min(gaps[day], default=whole)) / 2
            for day, turns in self._turns.items()
        }


def path(points: Sequence[Point]) -> str:
    """Return straight lines through points; nothing for a single one."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) if len(points) > 1 else ""


def _turns(marks: Sequence[Mark | BandMark]) -> dict[int, tuple[int, ...]]:
    """Return the turns that are drawn of each day, days and turns in order."""
    days: dict[int, set[int]] = {}
    for mark in marks:
        days.setdefault(mark.day, set()).add(mark.turn)
    return {day: tuple(sorted(days[day])) for day in sorted(days)}
