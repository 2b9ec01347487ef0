"""Bare legs in profile: standing, or lying with the knees at a right angle."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from fabella.anatomy import Side, other
from fabella.figure.footing import bent_toe
from fabella.figure.leg import LegLines, leg_lines
from fabella.figure.pen import Point
from fabella.figure.placing import COUCH, Placing, resting
from fabella.figure.pose import Leg, LegPose, build_leg, length
from fabella.figure.seen_legs import SeenLeg, SeenLegs, bump
from fabella.figure.sheet import Item
from fabella.figure.tables import body

HELD_DEG = 30.0
"""How far a knee is bent that the patient keeps half bent (judgement)."""
_HEM = 0.42  # where the shorts end on the thigh, as a share of its length


def standing_leg(seen: SeenLeg) -> Leg:
    """Return the leg of somebody who stands with the foot flat, the knee bent or beyond straight as seen."""
    return build_leg(resting(LegPose(knee_flexion_deg=-seen.extension_deg), on="floor"))


def right_angle_leg(seen: SeenLeg) -> Leg:
    """Return the leg of somebody who lies, the sole on the couch, the tibia sunk back as seen."""
    bent = resting(LegPose(knee_flexion_deg=90.0), on="sole")
    return build_leg(replace(bent, tibia_forwards_mm=-seen.sag_mm))


def lying_leg(seen: SeenLeg) -> Leg:
    """Return the leg of somebody who lies, the heel on the couch, the knee as straight as it is let down."""
    bent = max(-seen.extension_deg, HELD_DEG if seen.held_flexed else 0.0)
    return build_leg(resting(LegPose(knee_flexion_deg=bent, ankle_flexion_deg=-20.0), on="heel"))


def bare_lines(leg: Leg, seen: SeenLeg, *, toes_deg: float = 0.0, lifted: float = 0.0) -> LegLines:
    """Return the contour of a leg in profile, swollen and wasted as it is seen, the patella ``lifted``."""
    lines = leg_lines(leg)
    widths = body()["side"]
    thin, full = seen.wasting, seen.fullness

    def moved(
        points: Sequence[Point], rows: Sequence[Sequence[float]], out: Sequence[tuple[float, float, float]],
        frame: str,
    ) -> tuple[Point, ...]:  # fmt: skip
        axis, _ = leg.segment(frame)
        found = []
        for (x, y), (share, _) in zip(points, rows, strict=True):
            by = sum(height * bump(share, middle, half) for height, middle, half in out)
            found.append((x + by * axis.forwards[0], y + by * axis.forwards[1]))
        return tuple(found)

    front = moved(
        lines.front, widths["thigh"]["front"], ((-6.0 * thin, 0.62, 0.5), (4.5 * full, 0.86, 0.2)), "thigh"
    )
    back = moved(
        lines.back[1:], widths["thigh"]["back"][::-1],
        ((2.4 * thin, 0.55, 0.5), (-8.0 * seen.behind, 0.95, 0.16)), "thigh",
    )  # fmt: skip
    calf = moved(
        lines.calf, widths["shank"]["back"][::-1],
        ((7.0 * seen.calf_wasting, 0.3, 0.4), (-7.0 * seen.behind, 0.04, 0.14)), "shank",
    )  # fmt: skip
    hollow = _out(leg, lines.back[0], 13.0 * seen.behind)
    groove, upper, middle, lower, tubercle = lines.knee
    along = 9.0 * seen.patella_low - 12.0 * seen.patella_high
    dome = 7.0 * seen.prepatellar
    knee = (
        _out(leg, groove, 5.2 * full),
        _slid(leg, _out(leg, upper, 1.6 * full + 0.6 * dome + lifted), along),
        _slid(leg, _out(leg, middle, 0.6 * full + 1.5 * dome + lifted), along),
        _slid(leg, _out(leg, lower, 0.8 * full + 1.1 * dome + lifted), along),
        leg.shank.place(widths["knee"]["tubercle"][0], widths["knee"]["tubercle"][1] + 6.0 * seen.tubercle)
        if seen.tubercle
        else tubercle,
    )
    arch = 5.5 * seen.high_arch - 5.0 * seen.flat_foot
    foot = []
    for part in ("top", "sole", "heel"):
        for x, y in widths["foot"][part]:
            along, down = bent_toe(x, y - (arch * bump(x, 34, 34) if part == "sole" else 0.0), toes_deg)
            foot.append(leg.foot.place(along, -down))
    return replace(lines, front=front, knee=knee, foot=tuple(foot), calf=calf, back=(hollow, *back))


def _out(leg: Leg, point: Point, by: float) -> Point:
    """A point moved away from the centre of the knee."""
    dx, dy = point[0] - leg.knee[0], point[1] - leg.knee[1]
    away = (dx * dx + dy * dy) ** 0.5
    return point[0] + by * dx / away, point[1] + by * dy / away


def _slid(leg: Leg, point: Point, by: float) -> Point:
    return point[0] + by * leg.shank.along[0], point[1] + by * leg.shank.along[1]


def bare_items(
    leg: Leg,
    seen: SeenLeg,
    *,
    far: bool = False,
    hatched: bool = True,
    toes_deg: float = 0.0,
    lifted: float = 0.0,
) -> Iterator[Item]:
    """Yield a bare leg in profile as it is inked; a ``far`` one is only an outline filled with shade."""
    lines = bare_lines(leg, seen, toes_deg=toes_deg, lifted=lifted)
    if far:
        yield Item(tone="far", points=lines.outline, weight=12)
        return
    yield Item(tone="skin", points=lines.outline, weight=15)
    if hatched:
        yield Item(tone="soft", points=lines.calf[::-1][1:], way="hatch", depth=-17, spacing=8, weight=6)
        yield Item(tone="soft", points=lines.back[::-1][:-1], way="hatch", depth=-15, spacing=9, weight=6)
    yield from _within(leg, seen, lines)
    for points, weight in ((lines.knee, 22.0), (lines.back[1:-1], 24.0), (lines.calf, 30.0)):
        yield Item(tone="ink", points=points, way="ink", weight=weight)


def _within(leg: Leg, seen: SeenLeg, lines: LegLines) -> Iterator[Item]:
    upper, middle, lower = lines.knee[1:4]
    inwards = (leg.knee[0] - middle[0], leg.knee[1] - middle[1])
    rim = tuple(
        (x + deep * inwards[0], y + deep * inwards[1])
        for (x, y), deep in ((upper, 0.2), (middle, 0.48), (lower, 0.24))
    )
    yield Item(tone="soft", points=rim, weight=10)
    if seen.fullness:
        pool = [
            leg.thigh.place(share * length("thigh"), out)
            for share, out in ((0.74, 30.0), (0.84, 23.0), (0.93, 20.0), (0.99, 24.0))
        ]
        yield Item(tone="line", points=tuple(pool), weight=4 + 4 * seen.fullness)
        if seen.fullness > 1:
            yield Item(
                tone="soft", points=tuple(pool), way="hatch", depth=-5.0 * seen.fullness, spacing=6, weight=7
            )
    malleolus = ((-6, -7), (2, -9), (8, -3), (6, 4), (-2, 7))
    yield Item(
        tone="soft",
        points=tuple(leg.shank.place(length("shank") + along, out) for along, out in malleolus),
        weight=10,
    )
    if seen.scar:
        yield Item(
            tone="accent",
            points=tuple(leg.shank.place(at, out) for at, out in ((-26, 24), (0, 30), (30, 22))),
            weight=14,
        )


def standing_pair(legs: SeenLegs, near: Side) -> Iterator[Item]:
    """Yield both legs of somebody who stands and faces the right of the page, one behind the other."""
    floor = length("thigh") + length("shank") + length("ankle")
    ground = ((-260.0, floor), (260.0, floor))
    yield Item(tone="soft", points=ground, way="chain", weight=14)
    stood = []
    for side in (other(near), near):
        seen = legs.of(side)
        leg = standing_leg(seen)
        down = floor - max(
            y for _, y in bare_lines(leg, replace(seen, flat_foot=False, high_arch=False)).foot
        )
        stood.append(build_leg(leg.pose, hip=(0.0, down)))
        yield from bare_items(stood[-1], seen, far=side is not near)
    yield from shorts(stood[1], stood[0])


def shorts(leg: Leg, other: Leg | None = None) -> Iterator[Item]:
    """Yield shorts over the upper thigh of a leg, wide enough for the ``other`` one that stands beside it."""
    at = _HEM * length("thigh")
    hip, fold = leg.thigh.at, math.tan(math.radians(leg.pose.hip_flexion_deg / 2))
    front, back = (leg.thigh.place(at, out) for out in (57.0, -56.0))
    if other is not None:
        front = max(front, other.thigh.place(at, 57.0))
        back = min(back, other.thigh.place(at, -56.0))
    hem = (front, leg.thigh.place(at + 7, 5.0), back)
    top = ((hip[0] - 70.0, hip[1] - 60.0), (hip[0] + 58.0, hip[1] - 60.0))
    yield Item(
        tone="hand",
        points=(*hem, (hip[0] - 66.0, hip[1] + 20.0), *top, (hip[0] + 57.0, hip[1] - 57.0 * fold)),
        way="polygon",
        weight=14,
    )


def lying_pair(legs: SeenLegs, near: Side, *, right_angle: bool) -> Iterator[Item]:
    """Yield both legs of somebody who lies, head to the left, the knees let down or at a right angle."""
    turned = Placing(posture="supine")
    pose = right_angle_leg if right_angle else lying_leg
    legs_drawn = {side: pose(legs.of(side)) for side in (other(near), near)}
    items = [
        item
        for side, leg in legs_drawn.items()
        for item in bare_items(leg, legs.of(side), far=side is not near)
    ]
    items.extend(() if right_angle else shorts(legs_drawn[near], legs_drawn[other(near)]))
    for item in items:
        yield replace(item, points=turned.places(item.points))
    slab = ((-600.0, COUCH), (900.0, COUCH), (900.0, COUCH + 26), (-600.0, COUCH + 26))
    yield Item(tone="couch", points=slab, way="polygon", weight=14)
