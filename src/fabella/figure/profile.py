"""Drawings in profile: a plan becomes a sheet."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache

from fabella.figure.hands import Frame2, hand_items, laid
from fabella.figure.leg import leg_lines, patella
from fabella.figure.marks import arc, arrow, dot, gap, goniometer, knee_words, round_segment, tape
from fabella.figure.pen import Point, sample
from fabella.figure.placing import COUCH, COUCH_PRONE, Placing, resting
from fabella.figure.plan import Arrow, Hand, Plan, Spot
from fabella.figure.pose import Leg, LegPose, build_leg, length
from fabella.figure.sheet import Item, Sheet, Window, extent
from fabella.figure.tables import hands
from fabella.figure.torso import silhouette

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
    items = [replace(item, points=placing.places(item.points)) for item in _drawn(plan, leg, ghost_deg)]
    window, scale = _window(_shown(plan, placing, leg, items))
    glyph, said = knee_words(window.left, window.top, scale=scale, said=_angle(knee_deg, ghost_deg), knee_deg=knee_deg)
    if plan.focus == "foot":
        glyph, words = (), ()
    else:
        words = (said,)
    return Sheet(title=title, window=window, scale=scale, items=(*_ground(plan, window, leg), *items, *glyph), words=words)


def _angle(knee_deg: float, ghost_deg: float | None) -> str:
    """The knee's angle in words: ``knee 25°``, ``130° to 90°``, ``10° past straight``."""
    if ghost_deg is not None and round(ghost_deg) != round(knee_deg):
        return f"{round(knee_deg)}° to {round(ghost_deg)}°"
    return f"knee {round(knee_deg)}°" if knee_deg >= 0 else f"{round(-knee_deg)}° past straight"


def _drawn(plan: Plan, leg: Leg, ghost_deg: float | None) -> Iterator[Item]:
    """Everything of a drawing but the couch, from the back to the front, in the coordinates of the standing figure."""
    behind, front = _hands(leg, plan.hands)
    if plan.other_hip_deg is not None:
        other = build_leg(
            LegPose(hip_flexion_deg=plan.other_hip_deg, knee_flexion_deg=plan.other_knee_deg, ankle_flexion_deg=plan.ankle_deg)
        )
        yield Item(tone="far", points=leg_lines(other).outline, weight=12)
    yield from behind
    yield from limb(leg, whole=False)
    if ghost_deg is not None:
        yield from _ghost(plan, leg, ghost_deg)
    for tool in plan.tools:
        yield from _tool(leg, tool)
    yield from front
    for each in plan.touch:
        yield from dot(place_of(leg, each))
    for each in plan.arrows:
        yield from arrow(arrow_path(leg, each))


def limb(leg: Leg, *, whole: bool) -> tuple[Item, ...]:
    """Return trunk and near leg as one skin, with swelling strokes, hatching on the shaded side, patella and ankle."""
    lines = leg_lines(leg)
    shaded = (*lines.calf[::-1][1:],)
    return (
        Item(tone="skin", points=silhouette(leg, whole=whole), weight=15),
        Item(tone="soft", points=shaded, way="hatch", depth=11, spacing=6.5, weight=7),
        Item(tone="soft", points=lines.back[1:], way="hatch", depth=9, spacing=7.5, weight=7),
        *(Item(tone="soft", points=each, weight=10) for each in (_patella_rim(leg), _malleolus(leg))),
        *(
            Item(tone="ink", points=points, way="ink", weight=weight)
            for points, weight in ((lines.knee, 24), (lines.back[1:-1], 24), (lines.calf, 30))
        ),
    )


def _patella_rim(leg: Leg) -> tuple[Point, ...]:
    """The edge of the patella as it shows beneath the skin."""
    upper, middle, lower = patella(leg)
    inwards = (leg.knee[0] - middle[0], leg.knee[1] - middle[1])
    return tuple((x + deep * inwards[0], y + deep * inwards[1]) for (x, y), deep in ((upper, 0.2), (middle, 0.48), (lower, 0.24)))


def _malleolus(leg: Leg) -> tuple[Point, ...]:
    return tuple(leg.shank.place(length("shank") + along, out) for along, out in ((-6, -7), (2, -9), (8, -3), (6, 4), (-2, 7)))


@cache
def _edge(leg: Leg) -> tuple[Point, ...]:
    return sample(leg_lines(leg).outline)


def skin(leg: Leg, spot: Spot) -> float:
    """Return how far the skin lies from the axis of a segment, on one flank, at a share of its length."""
    frame, whole = leg.segment(spot.on)
    at = frame.place(spot.at * whole, 0.0)
    way = 1 if spot.side == "front" else -1
    ray = (way * frame.forwards[0], way * frame.forwards[1])
    return _until(at, ray, _edge(leg))


def _until(at: Point, ray: Point, edge: tuple[Point, ...]) -> float:
    """How far along a ray the edge is met first; 40 when it is not met."""
    met = []
    for (x0, y0), (x1, y1) in zip(edge, edge[1:], strict=False):
        dx, dy = x1 - x0, y1 - y0
        cross = ray[0] * dy - ray[1] * dx
        if abs(cross) < 1e-9:  # noqa: PLR2004 - parallel
            continue
        far = ((x0 - at[0]) * dy - (y0 - at[1]) * dx) / cross
        on = ((x0 - at[0]) * ray[1] - (y0 - at[1]) * ray[0]) / cross
        if 0 <= on <= 1 and far > 0:
            met.append(far)
    return min(met, default=40.0)


def place_of(leg: Leg, spot: Spot) -> Point:
    """Return where a spot lies, in the coordinates of the standing figure."""
    frame, whole = leg.segment(spot.on)
    way = 1 if spot.side == "front" else -1
    return frame.place(spot.at * whole, way * (skin(leg, spot) + spot.out))


def _inwards(leg: Leg, spot: Spot) -> Point:
    frame, _ = leg.segment(spot.on)
    way = -1 if spot.side == "front" else 1
    return (way * frame.forwards[0], way * frame.forwards[1])


def _hands(leg: Leg, held: Iterable[Hand]) -> tuple[list[Item], list[Item]]:
    """What of the hands lies behind the limb, and what in front of it."""
    behind: list[Item] = []
    front: list[Item] = []
    for hand in held:
        shape = hands()[hand.hold]
        place = _laid(leg, hand)
        front.extend(hand_items(shape.get("parts", ()), place))
        if hand.hold == "far":
            behind.extend(hand_items(shape["behind"], place))
            opposite = replace(hand.spot, side="back" if hand.spot.side == "front" else "front")
            tips = laid(place_of(leg, opposite), _inwards(leg, hand.spot), turn_deg=hand.turn_deg, flip=hand.flip)
            front.extend((*hand_items(shape["thumb"], place), *hand_items(shape["tips"], tips)))
    return behind, front


def _laid(leg: Leg, hand: Hand) -> Frame2:
    """A hand at its place: the flat one along the limb, the others towards it."""
    at, inwards = place_of(leg, hand.spot), _inwards(leg, hand.spot)
    if hand.hold != "palm":
        return laid(at, inwards, turn_deg=hand.turn_deg, flip=hand.flip)
    frame, _ = leg.segment(hand.spot.on)
    way = -1 if hand.flip else 1
    along = (way * frame.along[0], way * frame.along[1])
    beneath = (-along[1], along[0])
    upside_down = beneath[0] * inwards[0] + beneath[1] * inwards[1] < 0
    return laid(at, along, turn_deg=hand.turn_deg, flip=upside_down)


def arrow_path(leg: Leg, each: Arrow) -> tuple[Point, ...]:
    """Return the points of an arrow, its head last."""
    frame, whole = leg.segment(each.spot.on)
    at = place_of(leg, each.spot)
    out = _inwards(leg, each.spot)
    out = (-out[0], -out[1])
    match each.way:
        case "pull":
            return at, (at[0] + out[0] * each.length, at[1] + out[1] * each.length)
        case "push":
            return (at[0] + out[0] * each.length, at[1] + out[1] * each.length), at
        case "along" | "back":
            half = each.length / 2 * (1 if each.way == "along" else -1)
            return tuple((at[0] + way * half * frame.along[0], at[1] + way * half * frame.along[1]) for way in (-1, 1))
        case _:
            flanks = (skin(leg, replace(each.spot, side="front")), skin(leg, replace(each.spot, side="back")))
            return round_segment(leg, each.spot.on, each.spot.at, flanks, way=1 if each.way == "turn" else -1)


def _ghost(plan: Plan, leg: Leg, ghost_deg: float) -> Iterator[Item]:
    """Where the shank goes to, dashed, with an arrow from here to there."""
    other = leg_of(replace(plan, slide_mm=0.0), knee_deg=ghost_deg)
    lines = leg_lines(other)
    yield Item(tone="ghost", points=(*lines.knee[1:], *lines.shin, *lines.foot, *lines.calf) if not plan.rest else lines.outline, weight=11)
    if not plan.rest and ghost_deg != leg.pose.knee_flexion_deg:
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


def _window(shown: list[Point]) -> tuple[Window, float]:
    left, top, right, bottom = extent(shown)
    margin = 14.0
    top -= 30.0  # for the words in the corner
    scale = min(WIDTH / (right - left + 2 * margin), HEIGHT / (bottom - top + 2 * margin), _FINEST)
    width, height = WIDTH / scale, HEIGHT / scale
    return Window(left=(left + right - width) / 2, top=(top + bottom - height) / 2, width=width, height=height), scale


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
