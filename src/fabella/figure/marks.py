"""Arrows, marks and tools that say what is done, where, and by how much."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fabella.figure.pen import Point
from fabella.figure.pose import Leg, length
from fabella.figure.sheet import Item, Words

_HEAD, _WING = 19.0, 8.5


def arrow(points: Sequence[Point], *, size: float = 1.0, weight: float = 30.0) -> tuple[Item, ...]:
    """Return an arrow along points, its head at the last; ``size`` scales the head."""
    long, wing = size * _HEAD, size * _WING
    *_, before, tip = points
    away = math.dist(before, tip) or 1.0
    ux, uy = (tip[0] - before[0]) / away, (tip[1] - before[1]) / away
    neck = (tip[0] - ux * long * 0.8, tip[1] - uy * long * 0.8)
    base = (tip[0] - ux * long, tip[1] - uy * long)
    head = (tip, (base[0] - uy * wing, base[1] + ux * wing), neck, (base[0] + uy * wing, base[1] - ux * wing))
    shaft = (*points[:-1], neck)
    return (
        Item(tone="accent", points=shaft, way="curve" if len(shaft) > 2 else "chain", weight=weight),  # noqa: PLR2004 - a straight line
        Item(tone="spot", points=head, way="polygon"),
    )


def dot(at: Point, *, radius: float = 7.0) -> tuple[Item, ...]:
    """Return the mark of a place to touch: a disc in a ring."""
    return (
        Item(tone="spot", points=ring(at, radius * 0.55), way="closed"),
        Item(tone="accent", points=ring(at, radius), way="closed", weight=14),
    )


def ring(at: Point, radius: float) -> tuple[Point, ...]:
    """Return points round a circle."""
    return tuple(
        (at[0] + radius * math.cos(turn), at[1] + radius * math.sin(turn))
        for turn in (step * math.pi / 4 for step in range(8))
    )


def arc(at: Point, radius: float, from_deg: float, to_deg: float) -> tuple[Point, ...]:
    """Return points of an arc; 0 degrees hangs down, positive is forwards, as in `LegPose`."""
    steps = max(2, math.ceil(abs(to_deg - from_deg) / 22))
    return tuple(
        (at[0] + radius * math.sin(turn), at[1] + radius * math.cos(turn))
        for turn in (math.radians(from_deg + (to_deg - from_deg) * step / steps) for step in range(steps + 1))
    )


def round_segment(
    leg: Leg, on: str, at: float, flanks: tuple[float, float], *, way: int
) -> tuple[Point, ...]:
    """Return an arrow's path round a segment, in front of it from one flank to the other."""
    frame, whole = leg.segment(on)
    front, back = flanks[0] + 12, flanks[1] + 12
    middle, half = (front - back) / 2, (front + back) / 2
    turns = [math.radians(each) for each in (-38, 0, 45, 90, 135, 180, 218)]
    path = [frame.place(at * whole + 15 * math.sin(turn), middle + half * math.cos(turn)) for turn in turns]
    return tuple(path if way > 0 else path[::-1])


def goniometer(leg: Leg) -> tuple[Item, ...]:
    """Return a long goniometer on hip, knee and ankle."""
    knee = leg.knee
    arms = tuple(
        Item(tone="accent", points=(knee, frame.place(to, 0)), way="chain", weight=26)
        for frame, to in ((leg.thigh, 30.0), (leg.shank, length("shank") - 8))
    )
    hubs = (Item(tone="bone", points=ring(knee, 15), way="closed", weight=16),)
    return (*arms, *hubs, Item(tone="spot", points=ring(knee, 4), way="closed"))


def tape(leg: Leg, on: str, at: float, flanks: tuple[float, float]) -> tuple[Item, ...]:
    """Return a tape laid square round a segment."""
    frame, whole = leg.segment(on)
    front, back = flanks
    edges, ticks = [], []
    for drop in (-4.5, 4.5):
        edges.append(
            tuple(
                frame.place(at * whole + drop + sag, out)
                for sag, out in ((0, front), (5, 0.5 * (front - back)), (0, -back))
            )
        )
    for share in (0.15, 0.3, 0.45, 0.6, 0.75, 0.9):
        out = front - share * (front + back)
        sag = 5 * (1 - (2 * share - 1) ** 2)
        ticks.append(
            Item(
                tone="accent",
                points=(frame.place(at * whole - 4.5 + sag, out), frame.place(at * whole + 0.5 + sag, out)),
                way="chain",
                weight=10,
            )
        )
    band = Item(tone="bone", points=(*edges[0], *edges[1][::-1]), way="polygon", weight=0)
    return (band, *(Item(tone="accent", points=edge, weight=14) for edge in edges), *ticks)


def heels(leg: Leg, other: Leg) -> tuple[Item, ...]:
    """Return how much higher one heel stands than the other, seen from the side of somebody on the front."""
    high, low = (each.foot.place(-37, -26) for each in (leg, other))
    beyond = max(high[1], low[1]) + 62
    levels = tuple(
        Item(tone="soft", points=(heel, (heel[0], beyond + 8)), way="chain", weight=9) for heel in (high, low)
    )
    ends = ((high[0], beyond), (low[0], beyond))
    return (*levels, *arrow(ends, size=0.8), *arrow(ends[::-1], size=0.8))


def gap(leg: Leg, seat: Point) -> tuple[Item, ...]:
    """Return the distance between heel and buttock."""
    heel = leg.foot.place(-36, -26)
    away = math.dist(heel, seat)
    ux, uy = (heel[0] - seat[0]) / away, (heel[1] - seat[1]) / away
    ends = tuple(
        (at, (at[0] + 9 * uy, at[1] - 9 * ux), (at[0] - 9 * uy, at[1] + 9 * ux)) for at in (heel, seat)
    )
    bars = tuple(Item(tone="accent", points=bar[1:], way="chain", weight=18) for bar in ends)
    return (Item(tone="accent", points=(heel, seat), way="chain", weight=18), *bars)


def knee_words(left: float, top: float, *, scale: float, said: str, knee_deg: float) -> tuple[Item, Words]:
    """Return the angle of the knee as two small lines with words beneath, in the left upper corner.

    Parameters
    ----------
    left, top
        The corner, in thousandths of stature.
    scale
        Tenths of a pixel a thousandth of stature.
    said, knee_deg
        The words, and the flexion of the knee in degrees.
    """
    pixel = 10.0 / scale
    turn = math.radians(knee_deg)
    x, y = left + 38 * pixel, top + (12 + max(0.0, -20 * math.sin(turn))) * pixel
    foot = (x + 22 * pixel * math.cos(turn), y + 22 * pixel * math.sin(turn))
    lines = Item(tone="line", points=((x - 26 * pixel, y), (x, y), foot), way="chain", weight=22)
    below = max(y, foot[1]) + 15 * pixel
    return lines, Words(text=said, at=(left + 12 * pixel, below), anchor="start")


def angle_words(knee_deg: float, ghost_deg: float | None = None) -> str:
    """Return the knee's angle in words: ``knee 25°``, ``130° to 90°``, ``10° past straight``."""
    if ghost_deg is not None and round(ghost_deg) != round(knee_deg):
        return f"{round(knee_deg)}° to {round(ghost_deg)}°"
    if round(knee_deg) == 0:
        return "knee straight"
    return f"knee {round(knee_deg)}°" if knee_deg > 0 else f"{round(-knee_deg)}° past straight"
