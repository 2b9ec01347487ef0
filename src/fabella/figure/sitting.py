"""The leg of somebody who sits over the edge of the couch, from the front: the thigh end on, the shank hanging."""

from __future__ import annotations

import math
from collections.abc import Iterator

from fabella.figure.frontal import UNIT
from fabella.figure.pen import Point
from fabella.figure.sheet import Item

_SHANK = [(13.5, -13), (16.5, -6), (17, 2), (16.5, 10), (18, 22), (18, 36), (15.5, 58), (12.6, 80), (10.6, 104), (10.4, 128), (12.4, 138)]
_FOOT = [(12, 146), (15.5, 156), (19, 163), (18.5, 168), (9, 170), (-4, 170.4), (-12, 169), (-13.4, 162), (-11.6, 150), (-12.4, 136)]
_MEDIAL = [(-10.4, 126), (-11, 102), (-13, 78), (-15.6, 58), (-18.4, 34), (-18, 20), (-16.6, 9), (-17.4, 0), (-16.5, -8), (-13, -14)]
_TOP = [(-6, -18), (0.5, -19.4), (7.5, -17.8)]
_THIGH = [(18, 4), (24, -8), (30, -26), (31, -40), (22, -47), (0, -50), (-22, -48), (-31, -42), (-29, -26), (-23, -8), (-17, 4)]
_PATELLA = [(0.6, -14), (5.2, -12.6), (7.2, -8), (5.6, -2.6), (2.6, 1.4), (0.6, 2.8), (-1.6, 1.4), (-4.6, -2.6), (-6, -8), (-4, -12.6)]


def sitting_leg(*, swings_deg: float) -> Iterator[Item]:
    """Yield a right leg hanging over the edge, its shank swung outwards (negative inwards) by turning the hip."""
    turn = math.radians(swings_deg)

    def place(point: tuple[float, float]) -> Point:
        x, y = point
        return (-(x * math.cos(turn) + y * math.sin(turn)) * UNIT, (y * math.cos(turn) - x * math.sin(turn)) * UNIT)

    def still(point: tuple[float, float]) -> Point:
        return (-point[0] * UNIT, point[1] * UNIT)

    edge = ((-400.0, -14.0), (400.0, -14.0), (400.0, 26.0), (-400.0, 26.0))
    yield Item(tone="couch", points=edge, way="polygon", weight=12)
    yield Item(tone="skin", points=tuple(map(still, _THIGH)), weight=14)
    if swings_deg:
        yield Item(tone="ghost", points=tuple(still(each) for each in (*_SHANK[3:], *_FOOT, *_MEDIAL[:-3])), weight=10)
    yield Item(tone="skin", points=tuple(place(each) for each in (*_SHANK, *_FOOT, *_MEDIAL, *_TOP)), way="closed", weight=15)
    yield Item(tone="line", points=tuple(map(place, _PATELLA)), way="closed", weight=11)
    yield Item(tone="soft", points=tuple(place(each) for each in ((-2, 8), (-1.4, 13), (0.7, 15), (2.8, 13), (3.4, 8))), weight=9)
