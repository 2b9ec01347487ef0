"""The examiner's hands, laid on a place of the limb."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from fabella.figure.pen import Point
from fabella.figure.sheet import Item

Frame2 = Callable[[Point], Point]


def laid(at: Point, along: Point, *, turn_deg: float = 0.0, flip: bool = False) -> Frame2:
    """Return how the points of a hand come to lie: its tip ``at``, its fingers ``along``.

    ``turn_deg`` turns it about its tip, ``flip`` exchanges thumb and little finger.
    """
    turn = math.radians(turn_deg)
    ex = (
        along[0] * math.cos(turn) - along[1] * math.sin(turn),
        along[0] * math.sin(turn) + along[1] * math.cos(turn),
    )
    way = -1 if flip else 1

    def place(point: Point) -> Point:
        x, y = point[0], way * point[1]
        return at[0] + x * ex[0] - y * ex[1], at[1] + x * ex[1] + y * ex[0]

    return place


def hand_items(parts: Iterable[Mapping[str, Any]], place: Frame2) -> tuple[Item, ...]:
    """Return the parts of a hand as they are painted."""
    return tuple(
        Item(
            tone="cloth" if part.get("cloth") else "hand",
            points=tuple(place((x, y)) for x, y in part["points"]),
            way="curve" if part.get("open") else "closed",
            weight=13,
        )
        for part in parts
    )
