"""Legs of somebody who sits over the edge of the couch, from the front: thighs end on, shanks hanging."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from fabella.figure.frontal import UNIT
from fabella.figure.pen import Point
from fabella.figure.sheet import Item

_SHANK = [
    (13.5, -13),
    (16.5, -6),
    (17, 2),
    (16.5, 10),
    (18, 22),
    (18, 36),
    (15.5, 58),
    (12.6, 80),
    (10.6, 104),
    (10.4, 128),
    (12.4, 138),
]
_FOOT = [
    (12, 146),
    (15.5, 156),
    (19, 163),
    (18.5, 168),
    (9, 170),
    (-4, 170.4),
    (-12, 169),
    (-13.4, 162),
    (-11.6, 150),
    (-12.4, 136),
]
_MEDIAL = [
    (-10.4, 126),
    (-11, 102),
    (-13, 78),
    (-15.6, 58),
    (-18.4, 34),
    (-18, 20),
    (-16.6, 9),
    (-17.4, 0),
    (-16.5, -8),
    (-13, -14),
]
_TOP = [(-6, -18), (0.5, -19.4), (7.5, -17.8)]
_THIGH = [
    (16, 6),
    (20.5, -8),
    (25.5, -20),
    (27, -32),
    (21, -42),
    (5, -46.5),
    (-13, -46),
    (-25, -40),
    (-29, -29),
    (-25.5, -15),
    (-19.5, -3),
    (-17, 6),
]
_APART = 62.0  # from one knee to the other
_PATELLA = [
    (0.6, -14),
    (5.2, -12.6),
    (7.2, -8),
    (5.6, -2.6),
    (2.6, 1.4),
    (0.6, 2.8),
    (-1.6, 1.4),
    (-4.6, -2.6),
    (-6, -8),
    (-4, -12.6),
]


def sitting_legs(*, swings_deg: float) -> Iterator[Item]:
    """Yield two legs hanging over the edge; the shank of the right one swung outwards by turning the hip.

    Parameters
    ----------
    swings_deg
        Outwards of hanging straight down, negative inwards, -45 to 45.
    """
    edge = ((-600.0, 0.0), (600.0, 0.0), (600.0, 26.0), (-600.0, 26.0))
    yield Item(tone="couch", points=edge, way="polygon", weight=12)
    away = (_APART * UNIT, 0.0)
    yield from _leg("far", swings_deg=0.0, at=away, lateral=1)
    if swings_deg:
        hanging = _placed((*_SHANK[3:], *_FOOT, *_MEDIAL[:-3]), swings_deg=0.0, at=(0.0, 0.0), lateral=-1)
        yield Item(tone="ghost", points=hanging, weight=10)
    yield from _leg("skin", swings_deg=swings_deg, at=(0.0, 0.0), lateral=-1)


def _leg(tone: str, *, swings_deg: float, at: Point, lateral: int) -> Iterator[Item]:
    def place(points: Sequence[Point], by_deg: float = swings_deg) -> tuple[Point, ...]:
        return _placed(points, swings_deg=by_deg, at=at, lateral=lateral)

    yield Item(tone=tone, points=place(_THIGH, 0.0), weight=14)
    yield Item(tone=tone, points=place((*_SHANK, *_FOOT, *_MEDIAL, *_TOP)), way="closed", weight=15)
    yield Item(tone="soft" if tone == "far" else "line", points=place(_PATELLA), way="closed", weight=10)
    yield Item(tone="soft", points=place(((-2, 8), (-1.4, 13), (0.7, 15), (2.8, 13), (3.4, 8))), weight=9)
    if tone == "skin":
        yield Item(tone="ink", points=place(_SHANK[1:9]), way="ink", weight=26)
        yield Item(tone="ink", points=place(_MEDIAL[1:8]), way="ink", weight=20)


def _placed(points: Sequence[Point], *, swings_deg: float, at: Point, lateral: int) -> tuple[Point, ...]:
    turn = math.radians(swings_deg)
    return tuple(
        (
            at[0] + lateral * (x * math.cos(turn) + y * math.sin(turn)) * UNIT,
            at[1] + (y * math.cos(turn) - x * math.sin(turn)) * UNIT,
        )
        for x, y in points
    )
