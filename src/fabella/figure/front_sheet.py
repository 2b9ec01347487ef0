"""Drawings from the front: a plan becomes a sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fabella.figure.frontal import UNIT, FrontPose, knee_close, whole_leg
from fabella.figure.hands import hand_items, laid
from fabella.figure.marks import angle_words, arrow, dot, knee_words, ring
from fabella.figure.plan import FrontHand, FrontPlan
from fabella.figure.sheet import Item, Sheet, Window, Words
from fabella.figure.sitting import sitting_legs
from fabella.figure.tables import hands, knee_sites

_VIEWS = {  # left, top, width, height in units of the outline; whether turned with the head to the left
    "knee": (-56.0, -38.0, 112.0, 70.0, False),
    "wide": (-84.0, -60.0, 168.0, 105.0, False),
    "leg": (-88.0, -80.0, 266.0, 166.0, True),
    "sitting": (-64.0, -58.0, 184.0, 115.0, False),
    "shanks": (-138.0, -58.0, 400.0, 250.0, False),
}
_SIDED = {"knee", "wide", "leg"}  # views that say which flank is which
_MID_SHIN = 62.0
_WIDTH = 3200.0
_ARROW = 5.6  # tenths of a pixel a thousandth of stature at which an arrow has its usual head


def front_sheet(plan: FrontPlan, *, sign_id: str, title: str) -> Sheet:
    """Return the drawing of a plan from the front; a whole leg lies, seen from above, head to the left."""
    pose = FrontPose(valgus_deg=plan.valgus_deg, opens_mm=plan.opens_mm)
    left, top, width, height = (each * UNIT for each in _VIEWS[plan.view][:4])
    turned = _VIEWS[plan.view][4]
    window = Window(left=left, top=top, width=width, height=height)
    scale = _WIDTH / width
    items = [*_limb(plan, pose)]
    if plan.fluid:
        items.extend(_fluid(pose))
    for line in plan.lines:
        items.append(Item(tone="accent", points=pose.places(line), way="chain", weight=18))
    for hand in plan.hands:
        items.extend(_hand(pose, hand))
    if plan.sited:
        site = knee_sites()[sign_id]
        items.extend(_site(pose, site["at"], behind=site.get("behind", False)))
    for place in plan.touch:
        items.extend(dot(pose.place(place), radius=6.0))
    for path in plan.arrows:
        items.extend(arrow(pose.places(path), size=min(_ARROW / scale, 1.0) ** 0.7))
    if turned:
        items = [replace(item, points=tuple((y, -x) for x, y in item.points)) for item in items]
    words = [*_sides(window, scale, turned=turned)] if plan.view in _SIDED else []
    knee_deg = plan.knee_of(sign_id)
    if knee_deg is not None:
        glyph, said = knee_words(left, top, scale=scale, said=angle_words(knee_deg), knee_deg=knee_deg)
        items.append(glyph)
        words.append(said)
    return Sheet(title=title, window=window, scale=scale, items=tuple(items), words=tuple(words))


def _limb(plan: FrontPlan, pose: FrontPose) -> Iterator[Item]:
    if plan.view in {"knee", "wide"}:
        return knee_close(pose, whole=plan.view == "knee")
    if plan.view in {"sitting", "shanks"}:
        return sitting_legs(swings_deg=plan.swings_deg)
    return whole_leg(pose)


def _hand(pose: FrontPose, hand: FrontHand) -> tuple[Item, ...]:
    place = laid(pose.place(hand.at), (1.0, 0.0), turn_deg=hand.turn_deg, flip=hand.flip)
    return hand_items(hands()[hand.hold]["parts"], place)


def _site(pose: FrontPose, at: tuple[float, float], *, behind: bool) -> tuple[Item, ...]:
    """The mark of a place to press; one at the back of the knee is an open ring."""
    middle = pose.place(at)
    if not behind:
        return dot(middle, radius=6.5)
    return (Item(tone="accent", points=ring(middle, 6.5), way="closed", weight=18),)


def _fluid(pose: FrontPose) -> Iterator[Item]:
    """The hollows beside and above the patella where fluid gathers, hatched."""
    for flank in (
        [(-8, -24), (-10.5, -18), (-10.5, -11), (-8, -5)],
        [(8.5, -24), (11, -18), (11, -11), (9, -5)],
    ):
        edge = pose.places(flank)
        yield Item(
            tone="accent",
            points=edge,
            way="hatch",
            depth=7.0 if flank[0][0] < 0 else -7.0,
            spacing=4.0,
            weight=8,
        )


def _sides(window: Window, scale: float, *, turned: bool) -> Iterator[Words]:
    """Which flank is which; the reader faces a right knee."""
    pixel = 10.0 / scale
    right, bottom = window.left + window.width, window.top + window.height
    if turned:
        for text, y in (("inner side", window.top + 14 * pixel), ("outer side", bottom - 14 * pixel)):
            yield Words(text=text, at=(_MID_SHIN * UNIT, y))
        return
    yield Words(text="outer side", at=(window.left + 8 * pixel, bottom - 14 * pixel), anchor="start")
    yield Words(text="inner side", at=(right - 8 * pixel, bottom - 14 * pixel), anchor="end")
