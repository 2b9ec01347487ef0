"""Points on a picture, and how far one line turns from another there."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from fabella.measure.checks import positive


class Point(NamedTuple):
    """A place on a picture in pixels: ``x`` to the right, ``y`` downwards, (0, 0) the upper left corner."""

    x: float
    y: float


Arm = tuple[str, str]
"""A line from one landmark to another, by their ids."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """How large a picture is, and what its pixels stand for.

    Parameters
    ----------
    width_px, height_px
        Size of the picture as it is looked at, above 0.
    pixel_width
        Width of a pixel as a share of its height; 1 for square pixels, as every photograph has.
    mm_per_px
        Millimetres to the height of a pixel, above 0; None where the picture has no scale.

    Raises
    ------
    InputError
        When a size is not above zero.
    """

    width_px: float
    height_px: float
    pixel_width: float = 1.0
    mm_per_px: float | None = None

    def __post_init__(self) -> None:
        """Refuse a picture without extent."""
        scale = {} if self.mm_per_px is None else {"mm_per_px": self.mm_per_px}
        positive(width_px=self.width_px, height_px=self.height_px, pixel_width=self.pixel_width, **scale)

    def holds(self, point: Point) -> bool:
        """Return whether a point lies on the picture, its edges included."""
        return 0 <= point.x <= self.width_px and 0 <= point.y <= self.height_px

    def squared(self, point: Point) -> Point:
        """Return the point as it would lie if pixels were as wide as they are high."""
        return Point(point.x * self.pixel_width, point.y)


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """The landmarks of one limb in square pixels, and which way of turning is outwards there.

    ``outwards`` is 1 where a turn from the right to down, as the hands of a clock go, leads away from the
    midline of the body, and -1 where it leads towards it.
    """

    points: Mapping[str, Point]
    outwards: int

    def vector(self, arm: Arm) -> Point:
        """Return the way from the first landmark of an arm to the second, in square pixels."""
        start, end = (self.points[each] for each in arm)
        return Point(end.x - start.x, end.y - start.y)

    def length(self, arm: Arm) -> float:
        """Return the length of an arm in square pixels."""
        return math.hypot(*self.vector(arm))

    def turn_deg(self, first: Arm, second: Arm) -> float:
        """Return the degrees (-180 to 180, clockwise positive) by which one arm turns from another."""
        return math.degrees(math.atan2(self._across(first, second), self._along(first, second)))

    def offset(self, point: str, line: Arm) -> float:
        """Return the distance in square pixels of a landmark from a line, positive on its clockwise side."""
        return self._across(line, (line[0], point)) / self.length(line)

    def _across(self, first: Arm, second: Arm) -> float:
        one, two = self.vector(first), self.vector(second)
        return one.x * two.y - one.y * two.x

    def _along(self, first: Arm, second: Arm) -> float:
        one, two = self.vector(first), self.vector(second)
        return one.x * two.x + one.y * two.y
