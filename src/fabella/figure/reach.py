"""Where hands, arrows and marks meet the skin of a leg in profile."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from itertools import pairwise

from fabella.figure.hands import Frame2, hand_items, laid
from fabella.figure.leg import leg_lines
from fabella.figure.marks import round_segment
from fabella.figure.pen import Point, sample
from fabella.figure.plan import Arrow, Hand, Spot
from fabella.figure.pose import Leg
from fabella.figure.sheet import Item
from fabella.figure.tables import hands


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
    for (x0, y0), (x1, y1) in pairwise(edge):
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


def held(leg: Leg, holds: Iterable[Hand]) -> tuple[list[Item], list[Item]]:
    """What of the hands lies behind the limb, and what in front of it."""
    behind: list[Item] = []
    front: list[Item] = []
    for hand in holds:
        shape = hands()[hand.hold]
        place = _laid(leg, hand)
        front.extend(hand_items(shape.get("parts", ()), place))
        if hand.hold == "far":
            behind.extend(hand_items(shape["behind"], place))
            opposite = replace(hand.spot, side="back" if hand.spot.side == "front" else "front")
            tips = laid(
                place_of(leg, opposite), _inwards(leg, hand.spot), turn_deg=hand.turn_deg, flip=hand.flip
            )
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
    frame, _ = leg.segment(each.spot.on)
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
            return tuple(
                (at[0] + way * half * frame.along[0], at[1] + way * half * frame.along[1]) for way in (-1, 1)
            )
        case _:
            flanks = (skin(leg, replace(each.spot, side="front")), skin(leg, replace(each.spot, side="back")))
            return round_segment(leg, each.spot.on, each.spot.at, flanks, way=1 if each.way == "turn" else -1)
