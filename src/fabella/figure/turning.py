"""The foot of somebody who lies on the front, seen along the shin from above the sole, turned outwards."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from fabella.anatomy import Side
from fabella.figure.hands import hand_items, laid
from fabella.figure.living import mirrored
from fabella.figure.motion import Motion
from fabella.figure.pen import Point
from fabella.figure.sheet import Item, Sheet, Window
from fabella.figure.tables import body, hands

_WINDOW = Window(left=-120.0, top=-150.0, width=270.0, height=230.0)
_FRAMES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """One foot turned against its thigh.

    Parameters
    ----------
    to_deg
        Outwards of the line of the thigh at the end, -60 to 90.
    knee_deg
        How far the knee is bent; only the title says it.
    from_deg
        Where it starts.
    """

    side: Side
    to_deg: float
    knee_deg: float
    from_deg: float = 0.0
    held: bool = True


def turn_foot(each: Turned) -> Motion:
    """Return the turn of the foot, as far as it goes."""
    title = f"{each.side.capitalize()} sole, lying on the front, knee at {round(each.knee_deg)} degrees"
    shares = [step / _FRAMES for step in range(_FRAMES + 1)]
    at = [each.from_deg + (each.to_deg - each.from_deg) * share for share in shares]
    to = round(abs(each.to_deg))
    way = "outwards" if each.to_deg >= 0 else "inwards"
    return Motion(
        title=title,
        words=f"The {each.side} foot turns {way}, to about {to}° from the line of the thigh.",
        keys_pct=tuple(100 * share for share in shares),
        sheets=tuple(_sheet(each, title, deg) for deg in at),
        duration_ms=1600,
        ease="ease-in-out",
    )


def sole(deg: float) -> tuple[Point, ...]:
    """Return the contour of a right sole, its heel at the origin, turned outwards: to the page's right."""
    return _turned(body()["sole"]["outline"], deg)


def _turned(points: Iterable[Iterable[float]], deg: float) -> tuple[Point, ...]:
    turn = math.radians(deg)
    return tuple(
        (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)) for x, y in points
    )


def _sheet(each: Turned, title: str, deg: float) -> Sheet:
    items = tuple(_drawn(deg, held=each.held))
    window = _WINDOW
    if each.side is Side.LEFT:
        items = tuple(map(mirrored, items))
        window = replace(window, left=-window.left - window.width)
    return Sheet(title=title, window=window, scale=3200 / window.width, items=items)


def _drawn(deg: float, *, held: bool) -> Iterator[Item]:
    """The thigh away from the reader, its line, and the sole upon the shin."""
    thigh = body()["sole"]
    yield Item(tone="far", points=tuple((x, y) for x, y in thigh["thigh"]), weight=12)
    yield Item(tone="ghost", points=((0.0, 90.0), (0.0, -150.0)), way="chain", weight=10)
    yield Item(tone="skin", points=sole(deg), way="closed", weight=18)
    for line in thigh["lines"]:
        yield Item(tone="soft", points=_turned(line, deg), weight=10)
    yield Item(tone="accent", points=_turned(((0.0, 0.0), (0.0, -118.0)), deg), way="chain", weight=10)
    if held:
        (at,) = _turned(((26.0, -84.0),), deg)
        place = laid(at, (1.0, 0.0), turn_deg=180.0 + deg)
        yield from hand_items(hands()["wrap"]["parts"], place)
