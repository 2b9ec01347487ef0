"""Legs that walk towards or away from the reader: shortened as they lean, the pelvis level or dropping."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from fabella.anatomy import Side
from fabella.figure.bare_front import BareLeg
from fabella.figure.frontal import UNIT
from fabella.figure.pen import Point
from fabella.figure.pose import LegPose
from fabella.figure.sheet import Item, Window
from fabella.figure.stride import WalkingLeg
from fabella.figure.tables import knee_outline

WINDOW = Window(left=-92 * UNIT, top=-164 * UNIT, width=184 * UNIT, height=340 * UNIT)
FLOOR = 168.6 * UNIT
_HIP = (44.5, -143.0)  # from the midline, in units of the front view
_HEM = ((-66.5, -96), (-40, -91), (-3.5, -95), (0, -100), (3.5, -95), (40, -91), (66.5, -96))
_WAIST = ((60, -205), (-60, -205))  # beyond the window
_BAND = ((-63.5, -148), (63.5, -148))
_TUCKED = 9.0
"""How far the thigh's outline ends within the shorts, which would not cover it where the pelvis drops."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pelvis:
    """How the pelvis hangs: by an angle about one hip, which stands ``down`` of its place.

    ``pivot`` is the side of the leg that stands; ``tilt`` in radians turns the other side downwards on the
    page, and is negative where that side lies to the left of the pivot.
    """

    down: float
    pivot: Point
    tilt: float

    def place(self, point: Point) -> Point:
        """Return where a point that is fixed to the pelvis comes to stand."""
        dx, dy = point[0] - self.pivot[0], point[1] - self.pivot[1]
        return (
            self.pivot[0] + dx * math.cos(self.tilt) - dy * math.sin(self.tilt),
            self.pivot[1] + dy * math.cos(self.tilt) + dx * math.sin(self.tilt) + self.down,
        )


def walking_legs(
    legs: Mapping[Side, WalkingLeg], *, own_pct: Mapping[Side, float], standing: Sequence[Side], back: bool
) -> Iterator[Item]:
    """Yield both legs and the shorts of somebody who walks, so far through each leg's own cycle.

    ``standing`` are the sides whose foot is on the ground, at least one.
    """
    poses = {each: legs[each].pose(own_pct[each]) for each in Side}
    pelvis = pelvis_at(legs, own_pct=own_pct, standing=standing, back=back)
    for side in Side:
        walking = legs[side]
        seen = replace(walking.seen, alignment_deg=walking.alignment_deg(own_pct[side]))
        leg = BareLeg(seen, side, back, walking.foot_out_deg)
        hip = (leg.lateral * _HIP[0] * UNIT, _HIP[1] * UNIT)
        yield from _leg(leg, poses[side], hip, pelvis.place(hip))
    for points, way, tone in (((*_HEM, *_WAIST), "polygon", "hand"), (_BAND, "chain", "soft")):
        places = tuple(pelvis.place((x * UNIT, y * UNIT)) for x, y in points)
        yield Item(tone=tone, points=places, way=way, weight=14)


def pelvis_at(
    legs: Mapping[Side, WalkingLeg], *, own_pct: Mapping[Side, float], standing: Sequence[Side], back: bool
) -> Pelvis:
    """Return how the pelvis hangs so far through the stride."""
    poses = {each: legs[each].pose(own_pct[each]) for each in Side}
    down = FLOOR - max(_shortened((0.0, FLOOR), poses[each])[1] for each in standing)
    drops = {each: legs[each].drop_deg(own_pct[each]) for each in standing}
    side = max(drops, key=lambda each: drops[each])
    lateral = -1 if (side is Side.RIGHT) is not back else 1
    return Pelvis(
        down=down,
        pivot=(lateral * _HIP[0] * UNIT, _HIP[1] * UNIT),
        tilt=-lateral * math.radians(drops[side]),
    )


def _leg(leg: BareLeg, pose: LegPose, hip: Point, at: Point) -> Iterator[Item]:
    """One leg, its hip moved from ``hip`` to ``at``; a foot that would sink into the floor is drawn up."""
    lowest = _shortened((0.0, FLOOR), pose)[1] - hip[1]
    reach = min(1.0, (FLOOR - at[1]) / lowest)

    def lifted(points: Sequence[Point]) -> tuple[Point, ...]:
        return tuple(
            (x + at[0] - hip[0], at[1] + reach * (y - hip[1]))
            for x, y in (_shortened(each, pose) for each in points)
        )

    lateral, medial = (lifted(flank) for flank in leg.flanks)
    if leg.back:
        yield Item(tone="far", points=lifted(_forefoot(leg)), way="closed", weight=12)
    top = (lateral[2][0] + math.copysign(_TUCKED * UNIT, medial[0][0] - lateral[2][0]), lateral[2][1])
    yield Item(tone="skin", points=(top, *lateral[3:], *lifted(leg.foot), *medial[::-1]), weight=18)
    if leg.back:
        yield Item(
            tone="soft", points=lifted(leg.places(((-12, 1), (-4, 2.4), (5, 2.4), (12, 1)))), weight=12
        )
        for side in (-1, 1):
            cord = ((side * 5.0, 104), (side * 3.4, 132), (side * 5.4, 153))
            yield Item(tone="line", points=lifted(leg.places(cord)), weight=10)
        return
    patella = next(each for each in knee_outline()["shape"] if each["name"] == "patella")["points"]
    yield Item(tone="line", points=lifted(leg.places(patella)), way="closed", weight=12)
    for toe in leg.toes:
        yield Item(tone="line", points=lifted(toe), way="chain", weight=9)


def _forefoot(leg: BareLeg) -> tuple[Point, ...]:
    """The front of the foot, which shows beside the heel as far as it is turned."""
    still = BareLeg(leg.seen, leg.side)
    way = leg.lateral * still.lateral  # it stands on the floor and does not lean with the heel
    across = leg.toes_across
    rows = (
        (-14, 165),
        (-12, 160),
        (-2, 157.5),
        (10, 159.5),
        (14.5, 163.5),
        (13, 168),
        (0, 168.6),
        (-12, 168.4),
    )
    return tuple((way * x, y) for x, y in still.places([(across + x, y) for x, y in rows]))


def _shortened(point: Point, pose: LegPose) -> Point:
    """A point of a leg from the front as thigh and shank lean towards and away from the reader."""
    thigh = math.radians(pose.hip_flexion_deg)
    shank = math.radians(pose.hip_flexion_deg - pose.knee_flexion_deg)
    above, below = min(point[1], 0.0), max(point[1], 0.0)
    hip = _HIP[1] * UNIT
    return point[0], hip + (above - hip) * math.cos(thigh) + below * math.cos(shank)
