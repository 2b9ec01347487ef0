"""A pair of legs that walks on the spot, as key positions of one whole stride, from the side or the front."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

from fabella.anatomy import Side, other
from fabella.figure.bare_front import BareLeg
from fabella.figure.bare_pair import shorts as front_shorts
from fabella.figure.bare_side import bare_items, shorts
from fabella.figure.footing import Steps
from fabella.figure.frontal import UNIT
from fabella.figure.living import mirrored
from fabella.figure.motion import Motion
from fabella.figure.pen import Point
from fabella.figure.pose import Leg, LegPose, build_leg
from fabella.figure.seen_legs import View
from fabella.figure.sheet import Item, Sheet, Window
from fabella.figure.stride import Thrust, WalkingLeg
from fabella.figure.tables import body, knee_outline

_SIDE = Window(left=-310.0, top=-470.0, width=620.0, height=490.0)
_FRONT = Window(left=-92 * UNIT, top=-122 * UNIT, width=184 * UNIT, height=298 * UNIT)
_FRONT_FLOOR, _FRONT_HIP = 168.6 * UNIT, -143.0 * UNIT
_FRAMES = 20
_PIXELS = 3200.0


@dataclass(frozen=True, kw_only=True)
class Walk:
    """How somebody walks: both legs, and steps of either foot a minute (40 to 160)."""

    right: WalkingLeg = field(default_factory=WalkingLeg)
    left: WalkingLeg = field(default_factory=WalkingLeg)
    cadence_per_min: float = 113.0

    def of(self, side: Side) -> WalkingLeg:
        """Return the leg of a side."""
        return self.right if side is Side.RIGHT else self.left

    def contact_pct(self, side: Side) -> float:
        """Return when a foot meets the ground, percent of the stride, which starts with the right one.

        Both spells on two feet last equally long.
        """
        if side is Side.RIGHT:
            return 0.0
        return 50 + (self.right.stance_share_pct - self.left.stance_share_pct) / 2

    @cached_property
    def steps(self) -> Steps:
        """The stride as the feet meet the floor."""
        return Steps(
            pose={each: self.of(each).pose for each in Side},
            contact_pct={each: self.contact_pct(each) for each in Side},
            stance_pct={each: self.of(each).stance_share_pct for each in Side},
        )

    @property
    def stride_ms(self) -> float:
        """The time of two steps."""
        return 120_000 / self.cadence_per_min

    @property
    def keys_pct(self) -> tuple[float, ...]:
        """Key positions: evenly spaced, and each contact, toe-off and greatest bend of a knee."""
        events = [
            (self.contact_pct(side) + own) % 100
            for side in Side
            for own in (0.0, self.of(side).stance_share_pct, self.of(side).peak_pct)
        ]
        even = [100 * step / _FRAMES for step in range(_FRAMES + 1)]
        far = [each for each in even if each in {0.0, 100.0} or min(abs(each - e) for e in events) > 1]
        return tuple(sorted({*far, *(each for each in events if each > 0)}))


def walk(how: Walk, view: View) -> Motion:
    """Return a stride as key positions.

    Parameters
    ----------
    how
        Both legs and the cadence.
    view
        ``FRONT``, ``RIGHT`` or ``LEFT``.

    Raises
    ------
    ValueError
        For another view.
    """
    if view not in {View.FRONT, View.RIGHT, View.LEFT}:
        raise ValueError(f"nobody is seen walking from {view}; from front, right or left only")
    sheets = tuple(_sheet(how, view, at) for at in how.keys_pct)
    return Motion(
        title=sheets[0].title,
        words=_words(how),
        keys_pct=how.keys_pct,
        sheets=sheets,
        duration_ms=how.stride_ms,
        loops=True,
    )


def _words(how: Walk) -> str:
    parts = [f"{round(how.cadence_per_min)} steps a minute."]
    for side in Side:
        leg = how.of(side)
        parts.append(
            f"The {side} foot is on the ground for {round(leg.stance_share_pct)} % of the stride and the "
            f"{side} knee bends to {round(leg.peak_flexion_deg)}° in swing."
        )
        if leg.thrust is not Thrust.NONE:
            way = "outwards" if leg.thrust is Thrust.VARUS else "inwards"
            parts.append(f"The {side} knee jerks {way} as it takes weight.")
    return " ".join(parts)


def _sheet(how: Walk, view: View, at_pct: float) -> Sheet:
    if view is View.FRONT:
        scale, title = _PIXELS / _FRONT.height, "Both legs walking, from the front"
        return Sheet(title=title, window=_FRONT, scale=scale, items=tuple(_from_front(how, at_pct)))
    items = tuple(_from_side(how, view.near, at_pct))
    if view.near is Side.LEFT:
        items = tuple(map(mirrored, items))
    title = f"Both legs walking, from the {view.near} side"
    return Sheet(title=title, window=_SIDE, scale=_PIXELS / _SIDE.width, items=items)


def walking_leg(how: Walk, side: Side, at_pct: float) -> tuple[Leg, float]:
    """Return a leg in profile so far through the stride, above the floor at 0, and the bend of its toes."""
    found = how.steps.footing(side, at_pct)
    return build_leg(found.pose, hip=(0.0, found.hip)), found.toes_deg


def _from_side(how: Walk, near: Side, at_pct: float) -> Iterator[Item]:
    yield Item(tone="soft", points=((-400.0, 0.0), (400.0, 0.0)), way="chain", weight=14)
    for side in (other(near), near):
        leg, toes_deg = walking_leg(how, side, at_pct)
        seen, far = how.of(side).seen, side is not near
        yield from bare_items(leg, seen, far=far, hatched=False, toes_deg=toes_deg)
    yield from shorts(leg)


def _from_front(how: Walk, at_pct: float) -> Iterator[Item]:
    floor = ((-400.0, _FRONT_FLOOR), (400.0, _FRONT_FLOOR))
    yield Item(tone="soft", points=floor, way="chain", weight=14)
    steps = how.steps
    poses = {each: how.of(each).pose(steps.own_pct(each, at_pct)) for each in Side}
    standing = [each for each in Side if steps.stands(each, at_pct)]
    down = _FRONT_FLOOR - max(_shortened((0.0, _FRONT_FLOOR), poses[each])[1] for each in standing)
    patella = next(each for each in knee_outline()["shape"] if each["name"] == "patella")["points"]
    for side in Side:
        walking = how.of(side)
        seen = replace(walking.seen, alignment_deg=walking.alignment_deg(steps.own_pct(side, at_pct)))
        leg = BareLeg(seen, side)

        def lifted(points: tuple[Point, ...], pose: LegPose = poses[side]) -> tuple[Point, ...]:
            return tuple((x, y + down) for x, y in (_shortened(each, pose) for each in points))

        lateral, medial = (lifted(flank) for flank in leg.flanks)
        yield Item(tone="skin", points=(*lateral, *lifted(leg.foot), *medial[::-1]), weight=18)
        yield Item(tone="line", points=lifted(leg.places(patella)), way="closed", weight=12)
        for x, y in body()["front"]["toes"]:
            toe = leg.places([(x, y), (x + 0.4, y + 5.5)])
            yield Item(tone="line", points=lifted(toe), way="chain", weight=9)
    yield from front_shorts()


def _shortened(point: Point, pose: LegPose) -> Point:
    """A point of a leg from the front as thigh and shank lean towards and away from the reader."""
    thigh = math.radians(pose.hip_flexion_deg)
    shank = math.radians(pose.hip_flexion_deg - pose.knee_flexion_deg)
    above, below = min(point[1], 0.0), max(point[1], 0.0)
    return point[0], _FRONT_HIP + (above - _FRONT_HIP) * math.cos(thigh) + below * math.cos(shank)
