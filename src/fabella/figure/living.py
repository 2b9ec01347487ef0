"""The living figure at rest: a pair of legs as it looks from one side, computed from what can be seen."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from fabella.anatomy import Side
from fabella.figure.bare_pair import standing_legs
from fabella.figure.bare_side import lying_pair, right_angle_leg, standing_pair
from fabella.figure.frontal import UNIT
from fabella.figure.placing import Placing
from fabella.figure.seen_legs import SeenLegs, View
from fabella.figure.sheet import Item, Sheet, Window, write

_TITLES = {
    View.FRONT: "Both legs standing, from the front",
    View.BACK: "Both legs standing, from behind",
    View.RIGHT: "Both legs standing, from the right side",
    View.LEFT: "Both legs standing, from the left side",
    View.ABOVE: "Both legs lying, from above",
    View.LYING_RIGHT: "Both legs lying, from the right side",
    View.LYING_LEFT: "Both legs lying, from the left side",
    View.RIGHT_ANGLE_RIGHT: "Both knees at a right angle, lying, from the right side",
    View.RIGHT_ANGLE_LEFT: "Both knees at a right angle, lying, from the left side",
}
_STANDING = Window(left=-92 * UNIT, top=-122 * UNIT, width=184 * UNIT, height=298 * UNIT)
_PROFILE = Window(left=-170.0, top=60.0, width=340.0, height=490.0)
_LYING = Window(left=-40.0, top=-130.0, width=620.0, height=210.0)
_BENT_WIDTH, _BENT_HEIGHT = 250.0, 190.0
_PIXELS = 3200.0


def living_figure(legs: SeenLegs, view: View, *, alone: bool = False) -> str:
    """Return the drawing of a pair of legs as SVG; its title says from where, and nothing of what is seen."""
    return write(living_sheet(legs, view), alone=alone)


def living_sheet(legs: SeenLegs, view: View) -> Sheet:
    """Return the drawing of a pair of legs before it is written."""
    items: Iterable[Item]
    if view in {View.FRONT, View.BACK, View.ABOVE}:
        window, items = _STANDING, standing_legs(legs, back=view is View.BACK)
    elif view in {View.RIGHT, View.LEFT}:
        window, items = _PROFILE, standing_pair(legs, view.near)
    elif view in {View.LYING_RIGHT, View.LYING_LEFT}:
        window, items = _LYING, lying_pair(legs, view.near, right_angle=False)
    else:
        knee = Placing(posture="supine").place(right_angle_leg(legs.of(view.near)).knee)
        window = Window(left=knee[0] - 110, top=knee[1] - 62, width=_BENT_WIDTH, height=_BENT_HEIGHT)
        items = lying_pair(legs, view.near, right_angle=True)
    if view.near is Side.LEFT:
        items = (mirrored(item) for item in items)
        window = replace(window, left=-window.left - window.width)
    tall = window.height > window.width
    scale = (_PIXELS / window.height) if tall else _PIXELS / window.width
    return Sheet(title=_TITLES[view], window=window, scale=scale, items=tuple(items))


def mirrored(item: Item) -> Item:
    """Return an item as in a mirror, hatched to its other side."""
    return replace(item, points=tuple((-x, y) for x, y in item.points), depth=-item.depth)
