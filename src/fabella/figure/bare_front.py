"""A bare leg from the front or from behind: where its skin stands, bent, swollen and wasted as seen."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from fabella.anatomy import Side
from fabella.figure.frontal import UNIT, FrontPose
from fabella.figure.pen import Point
from fabella.figure.seen_legs import SeenLeg, bump
from fabella.figure.tables import body, knee_outline

_HIP = (15.0, -143.0)  # in units of the front view, from the knee of a leg at the usual angle
_ANKLE = (0.0, 143.0)
_APART, _FEET, _KNEES = 29.5, 21.5, 20.5  # from the midline: a knee; the least of ankle and knee
_HEEL_FROM = 139.0  # below this the heel leans
_FOOT_FROM = 128.0  # from here to the instep the foot turns flat
_USUAL_DEG = 6.0

_TOES, _TOES_STAND = 52.0, 4.0
"""How far the toes lie in front of the ankle, and how far outwards they are drawn, in units of the view."""
_OUT_OF_LINE, _ROLLED_DEG = 6.0, 30.0
"""How far a deformed shank lies aside in units of the view, and its foot is rolled out (judgement)."""
_INSTEP, _FOREFOOT = 146.0, 159.0
_HEEL = [(8.6, 146), (9.6, 154), (9.4, 162), (6.8, 167.4), (0, 168.6),
         (-6.8, 167.4), (-9.2, 162), (-9.2, 154), (-8.8, 146)]  # fmt: skip


@dataclass(frozen=True)
class BareLeg:
    """One leg from the front or from behind: turns points of the front view into places on the page.

    ``foot_out_deg`` turns the foot outwards of the way it faces; None leaves it as it stands.
    """

    seen: SeenLeg
    side: Side
    back: bool = False
    foot_out_deg: float | None = None

    @property
    def lateral(self) -> int:
        """-1 where the lateral side is on the left of the page, else 1."""
        return -1 if (self.side is Side.RIGHT) is not self.back else 1

    @cached_property
    def pose(self) -> FrontPose:
        """The leg bent by its alignment, before it is leant."""
        return FrontPose(valgus_deg=self.seen.alignment_deg, lateral=1)

    @cached_property
    def lean_rad(self) -> float:
        """How far the whole leg leans about the hip: the feet side by side, unless the knees would touch."""
        bowed = max(_USUAL_DEG - self.seen.alignment_deg, 0.0)
        feet = max(_APART - 0.9 * bowed, _FEET)
        lean = self._lean_to(_ANKLE, feet)
        return lean if self._across((0.0, 0.0), lean) >= _KNEES else self._lean_to((0.0, 0.0), _KNEES)

    def _lean_to(self, point: Point, across: float) -> float:
        low, high = -0.6, 0.6
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (middle, high) if self._across(point, middle) < across else (low, middle)
        return (low + high) / 2

    def _turned(self, point: Sequence[float], lean: float) -> Point:
        """Where a point stands, lateral of the midline and below the level of the knee, in units."""
        x, y = (each / UNIT for each in self.pose.place(point))
        x, y = x - _HIP[0], y - _HIP[1]
        return (
            _APART + _HIP[0] + x * math.cos(lean) + y * math.sin(lean),
            _HIP[1] + y * math.cos(lean) - x * math.sin(lean),
        )

    def _across(self, point: Point, lean: float) -> float:
        return self._turned(point, lean)[0]

    def place(self, point: Sequence[float]) -> Point:
        """Return where a point of the front view stands on the page."""
        x, y = self._leant(point) if self.back else self._flat(point)
        if self.seen.deformed:
            x += _OUT_OF_LINE * min(max(y / 12, 0.0), 1.0)
        x, y = self._turned((x, y), self.lean_rad)
        return self.lateral * x * UNIT, y * UNIT

    def places(self, points: Iterable[Sequence[float]]) -> tuple[Point, ...]:
        """Return where many points of the front view stand on the page."""
        return tuple(self.place(each) for each in points)

    @cached_property
    def _sole_rad(self) -> float:
        """How far the foot is turned against the shank, so that its sole lies on the floor as usual."""

        def down(leg: BareLeg) -> float:
            (x, y), (knee_x, knee_y) = (
                leg._turned(_ANKLE, leg.lean_rad),
                leg._turned((0.0, 0.0), leg.lean_rad),
            )
            return math.atan2(x - knee_x, y - knee_y)

        return down(BareLeg(SeenLeg(), self.side)) - down(self)

    def _flat(self, point: Sequence[float]) -> Point:
        """A point of the foot stands on the floor however the shank leans; what lies above leans with it."""
        x, y = point[0], point[1] - _ANKLE[1]
        turn = self._sole_rad * min(max((point[1] - _FOOT_FROM) / (_INSTEP - _FOOT_FROM), 0.0), 1.0)
        return x * math.cos(turn) + y * math.sin(turn), _ANKLE[1] + y * math.cos(turn) - x * math.sin(turn)

    def _leant(self, point: Sequence[float]) -> Point:
        """A point of the heel leans outwards with it; what lies above does not."""
        x, y = point[0], point[1]
        if y <= _HEEL_FROM:
            return x, y
        lean = math.radians(self.seen.heel_deg)
        down = y - _HEEL_FROM
        return x * math.cos(lean) + down * math.sin(lean), _HEEL_FROM + down * math.cos(lean) - x * math.sin(
            lean
        )

    def skin(self, points: Iterable[Sequence[float]]) -> tuple[Point, ...]:
        """Return where the skin stands, wasted and swollen as it is seen."""
        return self.places(shaped(self.seen, each) for each in points)

    @property
    def flanks(self) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
        """The skin of the lateral and of the medial flank, from above."""
        front, skin = body()["front"], knee_outline()["skin"]
        return (
            self.skin((*front["lateral_above"], *skin["lateral"], *front["lateral_below"][:-1])),
            self.skin((*front["medial_above"], *skin["medial"], *front["medial_below"][:-1])),
        )

    @property
    def foot(self) -> tuple[Point, ...]:
        """The contour of the foot, from lateral to medial; from behind that of the heel."""
        if self.back:
            return self.places(_HEEL)
        arch = 4.0 * self.seen.flat_foot - 1.6 * self.seen.high_arch
        return self.places(
            self._turned_out((x - arch * bump(y, 158, 13) if x < -10 else x, y))  # noqa: PLR2004 - the medial border
            for x, y in body()["front"]["foot"]
        )

    @property
    def toes(self) -> tuple[tuple[Point, ...], ...]:
        """The lines between the toes, seen from the front."""
        return tuple(
            self.places((self._turned_out((x, y)), self._turned_out((x + 0.4, y + 5.5))))
            for x, y in body()["front"]["toes"]
        )

    @property
    def toes_across(self) -> float:
        """How far outwards of the ankle the middle of the toes stands, in units of the view."""
        if self.foot_out_deg is None:
            return _TOES * math.sin(math.radians(_ROLLED_DEG)) if self.seen.deformed else _TOES_STAND
        return _TOES * math.sin(math.radians(self.foot_out_deg))

    def _turned_out(self, point: Point) -> Point:
        """A point of the foot, whose toes stand aside of the ankle as it is turned."""
        grown = min(max((point[1] - _INSTEP) / (_FOREFOOT - _INSTEP), 0.0), 1.0)
        return point[0] + grown * (self.toes_across - _TOES_STAND), point[1]


def shaped(seen: SeenLeg, point: Sequence[float]) -> Point:
    """A point of the skin, further out where fluid fills, further in where muscle is wasted."""
    x, y = point[0], point[1]
    medial = x < 0
    out = seen.fullness * (1.5 * bump(y, -22, 20) + 1.0 * bump(y, -5, 11))
    out -= seen.wasting * (3.0 * bump(y, -72, 58) + (2.2 if medial else 0.6) * bump(y, -27, 20))
    out -= seen.calf_wasting * 2.6 * bump(y, 36, 34)
    if seen.patella_out and not medial:
        out += 4.0 * bump(y, -9, 13)
    return x + (-out if medial else out), y
