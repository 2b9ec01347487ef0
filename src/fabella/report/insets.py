"""Two small side views beside a limb: how far the knee moves, and how far the shin slides."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.report.curves import Point, ink, number, smooth
from fabella.report.labels import LINE_MM, wrap
from fabella.report.limb import lateral_sign
from fabella.report.marks import arrow_mm, head, sites
from fabella.report.readings import Outcome, Reading, Readings

_RADIUS_MM = 8.4
_LEG_MM = 9.6
_PIVOT_MM = 0.7  # radius of the disc at which the shin turns
_SMALL = 0.8  # the side view of a sliding joint, against the size its points are given in

MOTION_SIGNS = frozenset({"passive_extension", "fixed_flexion", "passive_flexion", "active_flexion"})
"""The measurements that the arc of motion shows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """Range of motion in degrees: extension (hyperextension positive), flexion; None where not measured."""

    extension_deg: float | None
    flexion_deg: float | None

    @property
    def words(self) -> str:
        """The range in words, such as ``5° hyperextension to 140°``."""
        flexion = "" if self.flexion_deg is None else f"{number(self.flexion_deg)}°"
        if self.extension_deg is None:
            return f"flexion to {flexion}"
        start = f"{number(abs(self.extension_deg))}°"
        if self.extension_deg > 0:
            start += " hyperextension"
        return (
            f"{start} to {flexion}"
            if flexion
            else f"extension to {'−' if self.extension_deg < 0 else ''}{start}"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Inset:
    """A small side view: ink, accent, arrow heads, dashed lines of the other knee, and words below it."""

    ink: tuple[str, ...]
    thin: tuple[str, ...]
    accent: tuple[str, ...]
    heads: tuple[str, ...]
    ghost: tuple[str, ...]
    captions: tuple[tuple[float, float, str], ...]


def motion(readings: Readings, side: Side) -> Motion | None:
    """Return the range of motion recorded on one side, or None when no end of it was measured.

    Passive motion goes before active; a fixed flexion counts as a shortfall of extension.
    """
    extension = _value(readings, side, "passive_extension")
    if extension is None:
        fixed = _value(readings, side, "fixed_flexion")
        extension = None if fixed is None else 0.0 - fixed
    flexion = _value(readings, side, "passive_flexion")
    if flexion is None:
        flexion = _value(readings, side, "active_flexion")
    if extension is None and flexion is None:
        return None
    return Motion(extension_deg=extension, flexion_deg=flexion)


def motion_inset(*, side: Side, at: Point, own: Motion, other: Motion | None) -> Inset:
    """Return the side view of a thigh at rest with the arc through which the shin moves.

    ``at`` is the pivot on the page in millimetres; the foot points to the lateral side of the page's knee.
    """
    forwards = lateral_sign(side)
    thigh = [
        (at[0] - forwards * along, at[1] + rise) for along, rise in ((0.0, 0.0), (5.0, -0.25), (10.0, 0.0))
    ]
    start = own.extension_deg if own.extension_deg is not None else 0.0
    accent, thin = [], []
    if own.flexion_deg is not None:
        accent.append(smooth(_arc(at, forwards, start, own.flexion_deg, _RADIUS_MM)))
        thin.append(_ray(at, forwards, -own.flexion_deg))
    shin = ink(
        [at, _polar(at, forwards, start, _LEG_MM / 2), _polar(at, forwards, start, _LEG_MM)], weight=0.7
    )
    ghost = []
    if other is not None and other != own:
        ghost = [
            _ray(at, forwards, end)
            for end in (other.extension_deg, None if other.flexion_deg is None else -other.flexion_deg)
            if end is not None
        ]
        if other.flexion_deg is not None:
            ghost.append(
                smooth(_arc(at, forwards, other.extension_deg or 0.0, other.flexion_deg, _RADIUS_MM - 1.6))
            )
    r = _PIVOT_MM
    disc = f"M{number(at[0] - r)} {number(at[1])}a{r} {r} 0 1 0 {2 * r} 0a{r} {r} 0 1 0 {-2 * r} 0Z"
    return Inset(
        ink=(ink(thigh, weight=0.7), shin, disc),
        thin=tuple(thin),
        accent=tuple(accent),
        heads=(),
        ghost=tuple(ghost),
        captions=tuple(
            (at[0], at[1] + 11.6 + LINE_MM * index, line)
            for index, line in enumerate(wrap(own.words, room_mm=20))
        ),
    )


def slides(readings: Readings, side: Side) -> tuple[Reading, ...]:
    """Return the abnormal signs of a shin that slides forwards or backwards."""
    known = sites()
    return tuple(
        reading
        for reading in readings.with_outcome(Outcome.ABNORMAL, side)
        if reading.sign in known and known[reading.sign].mark == "slides"
    )


def slide_inset(*, side: Side, at: Point, found: Sequence[Reading], says: Sequence[str]) -> Inset:
    """Return the side view of a joint whose shin slides, with an arrow as long as the movement.

    ``at`` is the middle of the joint line on the page; ``found`` one sliding sign or more.
    """
    forwards = lateral_sign(side)
    worst = {
        way: max((arrow_mm(each) for each in found if sites()[each.sign].way == way), default=0.0)
        for way in ("forwards", "backwards")
    }
    shift = (worst["forwards"] - worst["backwards"]) / 3  # the drawing is a third of life size
    shift = min(max(shift, -3.0), 3.0)

    def side_view(points: Sequence[Point], moved: float = 0.0) -> list[Point]:
        return [(at[0] + forwards * (x * _SMALL + moved), at[1] + y * _SMALL) for x, y in points]

    femur = [(-1.6, -10), (-1.5, -7), (-2.6, -4.6), (-3.6, -2.4), (-2.6, -0.6), (0, 0), (2.2, -0.8),
             (3.3, -2.8), (2.2, -5.0), (1.5, -7), (1.4, -10)]  # fmt: skip
    tibia = [(-1.6, 9), (-1.7, 5.4), (-3.6, 2.6), (-3.5, 0.9), (0, 0.9), (3.4, 0.7), (3.6, 1.8), (2.2, 3.6),
             (1.7, 5.6), (1.5, 9)]  # fmt: skip
    patella = [(4.0, -5.6), (5.0, -4.4), (4.8, -2.6), (4.0, -1.9), (3.7, -3.6)]
    ghost = (smooth(side_view(tibia)),)
    accent, heads = [], []
    for way, direction in (("forwards", 1), ("backwards", -1)):
        if worst[way]:
            y = at[1] + 4.6
            start = at[0] - forwards * direction * worst[way] / 2
            tip = start + forwards * direction * worst[way]
            accent.append(f"M{number(start)} {number(y)}L{number(tip - forwards * direction)} {number(y)}")
            heads.append(head((tip, y), towards_deg=0 if forwards * direction > 0 else 180))
    return Inset(
        ink=(
            ink(side_view(femur), weight=0.36),
            ink(side_view(tibia, shift), weight=0.36),
            ink([*side_view(patella), side_view(patella)[0]], weight=0.28),
        ),
        thin=(),
        accent=tuple(accent),
        heads=tuple(heads),
        ghost=ghost,
        captions=tuple((at[0], at[1] + 10.2 + LINE_MM * index, line) for index, line in enumerate(says)),
    )


def _value(readings: Readings, side: Side, sign: str) -> float | None:
    reading = readings.find(sign, side)
    return None if reading is None else reading.value


def _polar(at: Point, forwards: int, up_deg: float, length: float) -> Point:
    angle = math.radians(up_deg)
    return (at[0] + forwards * length * math.cos(angle), at[1] - length * math.sin(angle))


def _ray(at: Point, forwards: int, up_deg: float) -> str:
    tip = _polar(at, forwards, up_deg, _LEG_MM)
    return f"M{number(at[0])} {number(at[1])}L{number(tip[0])} {number(tip[1])}"


def _arc(at: Point, forwards: int, from_up_deg: float, to_flexion_deg: float, radius: float) -> list[Point]:
    span = to_flexion_deg + from_up_deg
    return [_polar(at, forwards, from_up_deg - span * step / 10, radius) for step in range(11)]
