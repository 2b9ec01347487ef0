"""A whole person in profile, the couch, and an examiner's hand, for the small drawings of the positions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from fabella.figure.hands import hand_items, laid
from fabella.figure.leg import leg_lines
from fabella.figure.limb import limb
from fabella.figure.pen import Point
from fabella.figure.placing import COUCH, Placing
from fabella.figure.plan import Spot
from fabella.figure.pose import Leg, LegPose, build_leg
from fabella.figure.reach import skin
from fabella.figure.sheet import Item
from fabella.figure.tables import hands
from fabella.figure.torso import ArmPose, arm_line, head_line, sleeve


def person(
    leg: LegPose,
    other: LegPose | None,
    arm: ArmPose,
    *,
    bowed_deg: float = 0.0,
    far_arm: ArmPose | None = None,
    dressed: bool = False,
) -> Iterator[Item]:
    """Yield a whole person in profile, upright, in shorts or ``dressed``."""
    if far_arm is not None:
        yield Item(tone="far", points=arm_line(far_arm), weight=12)
    if other is not None:
        yield Item(tone="far", points=leg_lines(build_leg(other)).outline, weight=12)
    yield Item(tone="skin", points=head_line(bowed_deg=bowed_deg), weight=15)
    near = build_leg(leg)
    yield from limb(near, whole=True)
    yield from _hem(near, "shank" if dressed else "thigh", 0.86 if dressed else 0.36)
    yield Item(tone="soft", points=((50.0, -70.0), (0.0, -60.0), (-52.0, -74.0)), weight=9)
    yield Item(tone="skin", points=arm_line(arm), weight=15)
    if dressed:
        yield Item(tone="soft", points=((26.0, -318.0), (2.0, -308.0), (-30.0, -330.0)), weight=10)
        yield Item(tone="soft", points=sleeve(arm), weight=10)


def _hem(leg: Leg, on: str, at: float) -> Iterator[Item]:
    """The end of shorts on the thigh, or of trousers on the shank."""
    frame, whole = leg.segment(on)
    front, back = (skin(leg, Spot(on=on, at=at, side=side)) for side in ("front", "back"))
    points = tuple(
        frame.place(at * whole + sag, out) for sag, out in ((0.0, front), (6.0, 0.1 * front), (0.0, -back))
    )
    yield Item(tone="soft", points=points, weight=9)


def placed(
    items: Iterable[Item], posture: str, by: Point = (0.0, 0.0), *, mirrored: bool = False
) -> Iterator[Item]:
    """Yield items turned into a posture, mirrored if asked, and moved."""
    placing = Placing(posture=posture)
    way = -1 if mirrored else 1
    for item in items:
        yield replace(
            item, points=tuple((way * x + by[0], y + by[1]) for x, y in placing.places(item.points))
        )


def couch(left: float, right: float, *, pillow: float | None = None) -> Iterator[Item]:
    """Yield a couch with legs on the floor, somebody on the back lying on it; its pillow beneath a place."""
    floor = COUCH + 190
    for x in (left + 60, right - 60):
        yield Item(tone="soft", points=((x, COUCH + 26), (x, floor)), way="chain", weight=18)
    yield Item(tone="soft", points=((left, floor), (right, floor)), way="chain", weight=8)
    slab = ((left, COUCH), (right, COUCH), (right, COUCH + 30), (left, COUCH + 30))
    yield Item(tone="couch", points=slab, way="polygon", weight=13)
    if pillow is not None:
        cushion = [(-78, 0), (-84, -10), (-60, -20), (0, -24), (58, -20), (80, -10), (76, 0)]
        yield Item(
            tone="hand", points=tuple((pillow + x, COUCH + y) for x, y in cushion), way="closed", weight=11
        )


def hand(hold: str, at: Point, turn_deg: float, *, flip: bool = False) -> tuple[Item, ...]:
    """Return an examiner's hand with its tip at a place, its fingers turned from the right of the page."""
    laid_on = laid(at, (1.0, 0.0), turn_deg=turn_deg, flip=flip)
    return tuple(replace(each, weight=9) for each in hand_items(hands()[hold]["parts"], laid_on))
