"""Drawings in profile: a plan becomes a sheet."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from fabella.figure.leg import leg_lines
from fabella.figure.limb import limb
from fabella.figure.marks import angle_words, arc, arrow, dot, gap, goniometer, heels, knee_words, tape
from fabella.figure.pen import Point
from fabella.figure.placing import COUCH, COUCH_PRONE, Placing, resting
from fabella.figure.plan import Plan, Spot
from fabella.figure.pose import Leg, LegPose, build_leg, length
from fabella.figure.reach import arrow_path, held, place_of, skin
from fabella.figure.sheet import Item, Sheet, Window, extent

WIDTH, HEIGHT = 3200.0, 2000.0
_FINEST = 6.2  # largest scale, in tenths of a pixel a thousandth of stature


def leg_of(plan: Plan, *, knee_deg: float) -> Leg:
    """Return the near leg of a plan with the knee bent so far."""
    pose = LegPose(
        hip_flexion_deg=plan.hip_deg,
        knee_flexion_deg=knee_deg,
        ankle_flexion_deg=plan.ankle_deg,
        tibia_forwards_mm=plan.slide_mm,
    )
    return build_leg(resting(pose, on=plan.rest) if plan.rest else pose)


def profile_sheet(plan: Plan, *, title: str, knee_deg: float, ghost_deg: float | None = None) -> Sheet:
    """Return the drawing of a plan in profile."""
    leg = leg_of(plan, knee_deg=knee_deg)
    placing = Placing(posture=plan.posture)
    way = -1 if plan.posture == "prone" else 1  # a mirrored edge is hatched to its other side
    items = [
        replace(item, points=placing.places(item.points), depth=way * item.depth)
        for item in _drawn(plan, leg, ghost_deg)
    ]
    window, scale = _window(_shown(plan, placing, leg, items), items)
    glyph, words = knee_words(
        window.left,
        window.top,
        scale=scale,
        said=angle_words(knee_deg, ghost_deg if plan.ghost_share is not None else None),
        knee_deg=knee_deg,
    )
    shown = plan.focus != "foot"
    return Sheet(
        title=title,
        window=window,
        scale=scale,
        items=(*_ground(plan, window, leg), *items, *((glyph,) if shown else ())),
        words=(words,) if shown else (),
    )


def _drawn(plan: Plan, leg: Leg, ghost_deg: float | None) -> Iterator[Item]:
    """Everything of a drawing but the couch, from back to front, as the figure stands."""
    behind, front = held(leg, plan.hands)
    if (other := _other(plan)) is not None:
        yield Item(tone="far", points=leg_lines(other).outline, weight=12)
    yield from behind
    yield from limb(leg, whole=False)
    if ghost_deg is not None:
        yield from _ghost(plan, leg, ghost_deg)
    for tool in plan.tools:
        yield from heels(leg, other) if tool == "heels" and other else _tool(leg, tool)
    yield from front
    for spot in plan.touch:
        yield from dot(place_of(leg, spot))
    for each in plan.arrows:
        yield from arrow(arrow_path(leg, each))


def _other(plan: Plan) -> Leg | None:
    """The leg behind, where a plan shows it."""
    if plan.other_hip_deg is None:
        return None
    pose = LegPose(
        hip_flexion_deg=plan.other_hip_deg,
        knee_flexion_deg=plan.other_knee_deg,
        ankle_flexion_deg=plan.ankle_deg,
    )
    return build_leg(pose)


def _ghost(plan: Plan, leg: Leg, ghost_deg: float) -> Iterator[Item]:
    """Where the shank goes to, dashed, with an arrow from here to there."""
    other = leg_of(replace(plan, slide_mm=0.0), knee_deg=ghost_deg)
    lines = leg_lines(other)
    shank = (
        (*lines.knee[2:], *lines.shin)
        if plan.rest
        else (*lines.knee[2:], *lines.shin, *lines.foot, *lines.calf)
    )
    yield Item(tone="ghost", points=shank, weight=11)
    if plan.ghost_share is not None and ghost_deg != leg.pose.knee_flexion_deg:
        here = leg.pose.hip_flexion_deg - leg.pose.knee_flexion_deg
        there = leg.pose.hip_flexion_deg - ghost_deg
        gap = math.copysign(8, there - here)
        yield from arrow(arc(leg.knee, length("shank") * 0.78, here + gap, there - gap / 2))


def _tool(leg: Leg, tool: str) -> tuple[Item, ...]:
    name, _, where = tool.partition(" ")
    if name == "goniometer":
        return goniometer(leg)
    if name == "gap":
        return gap(leg, (-60.0, 44.0))
    on, at = where.split()
    spot = Spot(on=on, at=float(at))
    return tape(leg, on, float(at), (skin(leg, spot), skin(leg, replace(spot, side="back"))))


def _shown(plan: Plan, placing: Placing, leg: Leg, items: Iterable[Item]) -> list[Point]:
    """The points that must be in the window: the leg, what is done to it, and a little of the belly."""
    if plan.focus == "foot":
        own = [leg.shank.place(length("shank") * 0.55, out) for out in (40.0, -50.0)]
        points = [*placing.places((*leg_lines(leg).foot, *own))]
        points.extend(point for item in items if item.tone in {"spot", "accent"} for point in item.points)
        return points
    points = [point for item in items if item.tone not in {"skin", "soft", "ink"} for point in item.points]
    points.extend(placing.places((*leg_lines(leg).outline, (40.0, -70.0), (-60.0, -70.0))))
    return points


def _window(shown: list[Point], items: Sequence[Item]) -> tuple[Window, float]:
    """The window that shows all, with room for the words in its corner."""
    left, top, right, bottom = extent(shown)
    marks = [point for item in items if item.tone not in {"skin", "soft", "ink"} for point in item.points]
    for above in range(14, 90, 12):
        scale = min(WIDTH / (right - left + 28), HEIGHT / (bottom - top + 14 + above), _FINEST)
        width, height = WIDTH / scale, HEIGHT / scale
        window = Window(
            left=(left + right - width) / 2,
            top=(top - above + bottom + 14 - height) / 2,
            width=width,
            height=height,
        )
        corner = (window.left + 1250 / scale, window.top + 560 / scale)
        if not any(x < corner[0] and y < corner[1] for x, y in marks):
            break
    return window, scale


def _ground(plan: Plan, window: Window, leg: Leg) -> tuple[Item, ...]:
    """The couch beneath somebody who lies, the floor beneath somebody who stands."""
    left, right = window.left - 20, window.left + window.width + 20
    if plan.posture == "stands":
        floor = max(y for _, y in leg_lines(leg).foot)
        return (Item(tone="soft", points=((left, floor), (right, floor)), way="chain", weight=16),)
    if plan.couch_ends:
        right = leg.knee[1] - 26
    top = COUCH if plan.posture == "supine" else COUCH_PRONE
    slab = ((left, top), (right, top), (right, top + 26), (left, top + 26))
    return (Item(tone="couch", points=slab, way="polygon", weight=14),)
