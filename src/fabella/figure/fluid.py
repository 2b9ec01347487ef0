"""Fluid in the knee as it is sought: stroked out of the inner hollow and back, or tapped with the patella."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

from fabella.anatomy import Side
from fabella.figure.bare_side import bare_items, bare_lines
from fabella.figure.close_front import CloseKnee
from fabella.figure.living import mirrored
from fabella.figure.motion import Motion
from fabella.figure.placing import COUCH, Placing, resting
from fabella.figure.plan import Hand, Spot
from fabella.figure.pose import MM, Leg, LegPose, build_leg
from fabella.figure.reach import held
from fabella.figure.seen_legs import SeenLeg
from fabella.figure.sheet import Item, Sheet, Window

RISES_MM: Final = 6.0
"""How far fluid lifts the patella once the pouch above it is pressed empty (judgement)."""
_WAVES = (
    "stays empty when the outer side is stroked down",
    "fills by about 2 mm when the outer side is stroked down",
    "bulges by about 5 mm when the outer side is stroked down",
    "fills again by about 7 mm before the outer side is stroked",
    "stays full, about 9 mm, and cannot be stroked empty",
)
WAVES_MM: Final = (0.0, 2.0, 5.0, 7.0, 9.0)
"""How far the inner hollow stands out with the wave of each level of the sweep test (judgement)."""
_BY_ITSELF, _TOO_FULL = 3, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Swept:
    """The sweep test of one knee; ``wave`` 0 none, 1 small, 2 large, 3 by itself, 4 too full to empty."""

    side: Side
    wave: int
    seen: SeenLeg = field(default_factory=SeenLeg)


def sweep(each: Swept) -> Motion:
    """Return the stroke up the inner side, a pause, and the stroke down the outer side."""
    full = WAVES_MM[each.wave]
    emptied = full if each.wave == _TOO_FULL else 0.0
    waits = full if each.wave >= _BY_ITSELF else emptied
    steps = (  # percent of the time, where the fingers are, their turn, how far the hollow stands out
        (0, (-13.0, 6.0), 205.0, full),
        (8, (-13.0, 4.0), 205.0, full),
        (26, (-12.0, -30.0), 205.0, emptied),
        (34, (-20.0, -44.0), 260.0, emptied),
        (44, (6.0, -46.0), 300.0, emptied),
        (56, (14.0, -36.0), 318.0, waits),
        (64, (15.0, -32.0), 330.0, waits),
        (82, (14.5, 0.0), 338.0, full),
        (100, (18.0, 6.0), 338.0, full),
    )
    title = f"{each.side.capitalize()} knee, fluid stroked to and fro"
    sheets = tuple(
        CloseKnee(seen=each.seen, bulge_mm=bulge, hands=(("two", at, turn, False),)).sheet(title, each.side)
        for _, at, turn, bulge in steps
    )
    return Motion(
        title=title,
        words=f"Stroked upwards, the hollow inside of the {each.side} kneecap {_WAVES[each.wave]}.",
        keys_pct=tuple(float(step[0]) for step in steps),
        sheets=sheets,
        duration_ms=4200,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Tapped:
    """The patella pushed back while the pouch is pressed empty; ``taps`` when fluid had lifted it."""

    side: Side
    taps: bool
    seen: SeenLeg = field(default_factory=SeenLeg)


def tap(each: Tapped) -> Motion:
    """Return the push of two fingertips and the rebound."""
    rises = RISES_MM if each.taps else 0.0
    steps = (
        (0, 0.0, 14.0),
        (22, rises, 12.0),
        (40, rises, 4.0),
        (46, 0.0, 0.0),
        (62, 0.0, 0.0),
        (76, rises, 0.0),
        (100, rises, 12.0),
    )
    title = f"{each.side.capitalize()} knee, patella pushed back"
    words = (
        f"The {each.side} kneecap stands about {RISES_MM:.0f} mm off the bone, goes back with a tap when it "
        "is pushed, and rises again."
        if each.taps
        else f"The {each.side} kneecap lies on the bone and does not move when it is pushed."
    )
    return Motion(
        title=title,
        words=words,
        keys_pct=tuple(float(step[0]) for step in steps),
        sheets=tuple(_tap_sheet(each, title, lifted_mm, above) for _, lifted_mm, above in steps),
        duration_ms=3200,
    )


def tapped_leg() -> Leg:
    """Return the leg that lies straight."""
    return build_leg(resting(LegPose(ankle_flexion_deg=-20.0), on="heel"))


def _tap_sheet(each: Tapped, title: str, lifted_mm: float, above: float) -> Sheet:
    leg, lifted = tapped_leg(), lifted_mm / MM
    lines = bare_lines(leg, each.seen, lifted=lifted)
    out = leg.thigh.forwards
    upper, middle, lower = lines.knee[1:4]
    deep = tuple((x - 19 * out[0], y - 19 * out[1]) for x, y in (lower, middle, upper))
    bone = tuple((x - 4 * out[0], y - 4 * out[1]) for x, y in (upper, middle, lower))
    front = bare_lines(leg, each.seen).knee[1:4]
    groove = [leg.thigh.place(along, 0.0) for along in (160.0, 190.0, 214.0)]
    femur = (*groove, *((x - 21 * out[0], y - 21 * out[1]) for x, y in front), leg.shank.place(6.0, 8.0))
    press = held(leg, (Hand(hold="palm", spot=Spot(on="thigh", at=0.7, out=3.0)),))[1]
    push = held(leg, (Hand(hold="two", spot=Spot(on="shank", at=-0.03, out=lifted + above)),))[1]
    items = [
        *bare_items(leg, each.seen, hatched=False, lifted=lifted),
        Item(tone="soft", points=femur, weight=14),
        Item(tone="bone", points=(*bone, *deep), way="closed", weight=14),
        *press,
        *push,
    ]
    turned = Placing(posture="supine")
    items = [replace(item, points=turned.places(item.points)) for item in items]
    knee = turned.place(leg.knee)
    window = Window(left=knee[0] - 150, top=knee[1] - 150, width=260, height=COUCH - knee[1] + 175)
    couch = ((-600.0, COUCH), (900.0, COUCH), (900.0, COUCH + 26), (-600.0, COUCH + 26))
    items.append(Item(tone="couch", points=couch, way="polygon", weight=14))
    if each.side is Side.LEFT:
        items = [mirrored(item) for item in items]
        window = replace(window, left=-window.left - window.width)
    return Sheet(title=title, window=window, scale=3200 / window.width, items=tuple(items))
