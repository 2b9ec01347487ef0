"""A pair of bare legs that stands, inked from the front and from behind."""

from __future__ import annotations

import math
from collections.abc import Iterator

from fabella.anatomy import Side
from fabella.figure.bare_front import BareLeg
from fabella.figure.frontal import UNIT
from fabella.figure.pen import Point
from fabella.figure.seen_legs import SeenLegs
from fabella.figure.sheet import Item
from fabella.figure.tables import knee_outline


def standing_legs(legs: SeenLegs, *, back: bool) -> Iterator[Item]:
    """Yield both legs of somebody who stands, facing the reader or seen from behind, knees at height 0."""
    for side in Side:
        leg = BareLeg(legs.of(side), side, back)
        yield from _toes_behind(leg) if back else ()
        lateral, medial = leg.flanks
        yield Item(tone="skin", points=(*lateral, *leg.foot, *medial[::-1]), weight=16)
        for flank in (lateral[3:-1], medial[2:-1]):
            yield Item(tone="ink", points=flank[::2], way="ink", weight=26)
        yield from _behind(leg) if back else _before(leg)
    yield from shorts()


def shorts() -> Iterator[Item]:
    """Yield the shorts over both thighs, as seen from the front or from behind."""
    hem = [(-66, -96), (-40, -91), (-3.5, -95), (0, -100), (3.5, -95), (40, -91), (66, -96)]
    top = [(60, -150), (-60, -150)]
    yield Item(
        tone="hand", points=tuple((x * UNIT, y * UNIT) for x, y in (*hem, *top)), way="polygon", weight=14
    )


def _before(leg: BareLeg) -> Iterator[Item]:
    """What lies within the contour seen from the front."""
    seen = leg.seen
    if seen.redness:
        yield from _patch(leg, (0, -9), (15, 17), tone="accent", weight=6.0 + 5 * seen.redness)
    yield from _hollows(leg)
    yield from _patella(leg)
    tubercle = ((-3.4, 11), (-1.6, 16.4), (0.8, 17.6), (3.4, 16), (5, 10.6))
    yield Item(
        tone="line" if seen.tubercle else "soft",
        points=leg.places(tubercle),
        weight=20 if seen.tubercle else 9,
    )
    yield Item(tone="soft", points=leg.places(((-1, 26), (-3, 60), (-4.4, 100), (-5.4, 126))), weight=8)
    for ankle in (((9.6, 132), (7.4, 138), (9.4, 143)), ((-9.6, 128), (-7.2, 134), (-9.2, 139))):
        yield Item(tone="soft", points=leg.places(ankle), weight=10)
    yield from _arch(leg)
    for toe in leg.toes:
        yield Item(tone="line", points=toe, way="chain", weight=9)
    # The inner border of the thigh muscle above the patella shows as a teardrop, unless it is wasted.
    if not seen.wasting:
        yield Item(
            tone="soft", points=leg.places(((-17, -38), (-13.4, -27), (-10.6, -21), (-11.6, -30))), weight=10
        )
    else:
        yield Item(
            tone="soft",
            points=leg.places(((-14, -40), (-12, -30), (-9, -22))),
            way="hatch",
            depth=-7.0 * leg.lateral * seen.wasting,
            spacing=7,
            weight=8,
        )
    yield from _marks(leg)


def _arch(leg: BareLeg) -> Iterator[Item]:
    """The inner border of the foot: hollow above its arch, deep where that is high, bulging where low."""
    seen = leg.seen
    crease = ((-9.4, 146), (-9.9, 151), (-8.6, 156.5))
    if seen.flat_foot:
        crease = ((-11.4, 150), (-13.6, 156), (-12.2, 162))
    line = leg.places(crease)
    yield Item(tone="line" if seen.high_arch or seen.flat_foot else "soft", points=line, weight=10)
    if seen.high_arch:
        yield Item(tone="soft", points=line, way="hatch", depth=9.0 * leg.lateral, spacing=5, weight=8)


def _hollows(leg: BareLeg) -> Iterator[Item]:
    """Hollows beside the patella; fluid fills them, then stands out round the patella as a horseshoe."""
    full = leg.seen.fullness
    for side in (-1, 1):
        if full < 2:  # noqa: PLR2004 - moderate
            hollow = [(side * 10.2, -20), (side * 11.6, -13), (side * 9.6, -5)]
            yield Item(tone="soft", points=leg.places(hollow), weight=14 - 6 * full)
            if not full:
                yield Item(
                    tone="soft",
                    points=leg.places(hollow),
                    way="hatch",
                    depth=side * leg.lateral * 9.0,
                    spacing=5,
                    weight=7,
                )
    if full:
        wide, high = 11.4 + 1.6 * full, -25.0 - 3.4 * full
        half = (
            (wide - 2.6, -1.5),
            (wide, -8),
            (wide + 0.5, -15),
            (wide - 1, high + 6),
            (0.58 * wide, high + 1),
        )
        arch = [*((-x, y) for x, y in half), (0.3, high), *half[::-1]]
        yield Item(tone="line" if full > 1 else "soft", points=leg.places(arch), weight=5 + 3 * full)
        if full > 1:
            yield Item(
                tone="soft",
                points=leg.places(arch[1:-1]),
                way="hatch",
                depth=leg.lateral * -(3.0 + 2.2 * full),
                spacing=7,
                weight=7,
            )


def _patella(leg: BareLeg) -> Iterator[Item]:
    seen = leg.seen
    points = next(each for each in knee_outline()["shape"] if each["name"] == "patella")["points"]
    turn = math.radians(14.0 if seen.patella_turned_in else 0.0)
    dx = -5.0 * seen.patella_turned_in + 15.0 * seen.patella_out
    dy = -7.0 * seen.patella_high + 5.0 * seen.patella_low
    narrow = 0.78 if seen.patella_turned_in or seen.patella_out else 1.0
    moved = [
        (
            dx + narrow * x * math.cos(turn) - (y + 11) * math.sin(turn),
            dy - 11 + (y + 11) * math.cos(turn) + narrow * x * math.sin(turn),
        )
        for x, y in points
    ]
    tone = "soft" if seen.prepatellar else "line"
    yield Item(tone=tone, points=leg.places(moved), way="closed", weight=12)
    if seen.prepatellar:
        dome = _ellipse((0.6, -9.0), (10.4, 11.6))
        yield Item(tone="skin", points=leg.places(dome), way="closed", weight=12)
        yield Item(
            tone="soft",
            points=leg.places(dome[3:8]),
            way="hatch",
            depth=8.0 * leg.lateral,
            spacing=6,
            weight=8,
        )


def _marks(leg: BareLeg) -> Iterator[Item]:
    """Scar, bruise and wound."""
    seen = leg.seen
    if seen.scar:
        line = [(-5.0, -30), (-6.8, -20), (-7.4, -8), (-5.4, 4), (-2.6, 14)]
        yield Item(tone="accent", points=leg.places(line), weight=16)
        for x, y in line:
            yield Item(
                tone="accent",
                points=leg.places([(x - 1.8, y - 0.4), (x + 1.8, y + 0.4)]),
                way="chain",
                weight=9,
            )
    if seen.bruise:
        yield from _patch(leg, (-10, 21), (8, 11), tone="line", weight=9)
    if seen.wound:
        yield Item(tone="spot", points=leg.places(_ellipse((6, 24), (1.6, 5))), way="closed")


def _ellipse(middle: Point, half: Point) -> list[Point]:
    turns = [step * math.pi / 5 for step in range(10)]
    return [(middle[0] + half[0] * math.cos(turn), middle[1] + half[1] * math.sin(turn)) for turn in turns]


def _patch(leg: BareLeg, middle: Point, half: Point, *, tone: str, weight: float) -> Iterator[Item]:
    """Slanting strokes within an ellipse."""
    for step in range(-4, 5):
        share = step / 5
        reach = math.sqrt(1 - share * share)
        ends = [
            (middle[0] + half[0] * (share + 0.5 * way * reach), middle[1] - half[1] * way * reach * 0.9)
            for way in (-1, 1)
        ]
        yield Item(tone=tone, points=leg.places(ends), way="chain", weight=weight)


def _behind(leg: BareLeg) -> Iterator[Item]:
    """What lies within the contour seen from behind."""
    seen = leg.seen
    crease = [(-13, 0.5), (-5, 2), (4, 2.4), (13, 0.5)]
    if seen.behind:
        lump = _ellipse((-4.5, 2), (9.4, 11.5))
        yield Item(tone="skin", points=leg.places(lump), way="closed", weight=10)
        yield Item(
            tone="soft",
            points=leg.places(lump[:5]),
            way="hatch",
            depth=8.0 * leg.lateral,
            spacing=6,
            weight=8,
        )
    else:
        yield Item(tone="soft", points=leg.places(crease), weight=12)
    for cord in (((-7, -44), (-10, -24), (-12, -6)), ((8, -44), (11, -24), (12.4, -6))):
        yield Item(tone="soft", points=leg.places(cord), weight=10)
    yield Item(tone="soft", points=leg.places(((0, 16), (0.6, 34), (0.4, 58))), weight=9)
    for side in (-1, 1):
        yield Item(
            tone="line",
            points=leg.places(
                ((side * 6.6, 92), (side * 4.2, 116), (side * 3.4, 132), (side * 4.4, 146), (side * 5.4, 153))
            ),
            weight=10,
        )


def _toes_behind(leg: BareLeg) -> Iterator[Item]:
    """The outer toes that show beside the heel, more of them when the foot is flat."""
    count = 3 if leg.seen.flat_foot else 1
    out = 11.0 + 3.4 * count
    toes = [(8, 159), (out, 160.5), (out + 1.6, 165), (out - 2, 168.4), (6, 168.6)]
    still = BareLeg(leg.seen, leg.side)
    way = leg.lateral * still.lateral  # the toes stand on the floor and do not lean with the heel
    yield Item(tone="far", points=tuple((way * x, y) for x, y in still.places(toes)), weight=11)
    for toe in range(count - 1):
        x = out - 1.6 - 3.6 * toe
        yield Item(
            tone="soft",
            points=tuple((way * px, py) for px, py in still.places([(x, 162), (x + 0.4, 167.4)])),
            way="chain",
            weight=8,
        )
    if leg.seen.flat_foot:  # the inner border bulges where the arch was
        inner = [(-8, 156), (-12.6, 161), (-12.4, 167), (-6, 168.4)]
        yield Item(tone="far", points=tuple((way * x, y) for x, y in still.places(inner)), weight=11)
