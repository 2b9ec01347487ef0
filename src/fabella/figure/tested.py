"""A test of the ligaments as it is played: the tibia glides or the joint opens, and stops hard or softly."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from fabella.anatomy import Side
from fabella.figure.bare_side import bare_items
from fabella.figure.frontal import UNIT, FrontPose
from fabella.figure.hands import hand_items, laid
from fabella.figure.living import mirrored
from fabella.figure.motion import Motion
from fabella.figure.pen import Point
from fabella.figure.placing import Placing, resting
from fabella.figure.plan import Hand, Spot
from fabella.figure.pose import MM, Leg, LegPose, build_leg
from fabella.figure.reach import held
from fabella.figure.seen_legs import SeenLeg
from fabella.figure.sheet import Item, Sheet, Window
from fabella.figure.tables import body, hands, knee_outline


class Played(StrEnum):
    """The tests that are played."""

    LACHMAN = "lachman"
    ANTERIOR_DRAWER = "anterior_drawer"
    POSTERIOR_DRAWER = "posterior_drawer"
    VALGUS = "valgus"
    VARUS = "varus"


_BENT_DEG = {Played.LACHMAN: 25.0, Played.ANTERIOR_DRAWER: 90.0, Played.POSTERIOR_DRAWER: 90.0}
_NAMES = {
    Played.LACHMAN: "Lachman test",
    Played.ANTERIOR_DRAWER: "anterior drawer",
    Played.POSTERIOR_DRAWER: "posterior drawer",
    Played.VALGUS: "valgus stress",
    Played.VARUS: "varus stress",
}
_HANDS = {
    Played.LACHMAN: (
        Hand(hold="wrap", spot=Spot(on="thigh", at=0.74, out=-48.0)),
        Hand(hold="far", spot=Spot(on="shank", at=0.16)),
    ),
    Played.ANTERIOR_DRAWER: (Hand(hold="wrap", spot=Spot(on="shank", at=0.15, side="back", out=-52.0)),),
    Played.POSTERIOR_DRAWER: (Hand(hold="far", spot=Spot(on="shank", at=0.15)),),
}
_PRESSES = {Played.VALGUS: ((14.0, -9.0), 0.0), Played.VARUS: ((-14.0, -9.0), 180.0)}
"""Where a hand steadies the knee from the flank that does not open."""
_FIRM = (320.0, "cubic-bezier(0.4, 0, 1, 1)")
"""A firm end point: at full speed into a sudden stop. Times and curves are judgement."""
_SOFT = (800.0, "cubic-bezier(0.2, 0.5, 0.3, 1)")
"""A soft one: slower and slower, without a moment at which it stops."""
_UNTOLD = (520.0, "ease-in-out")
"""Where nothing is known of the end: neither."""
_HINGE, _GAP = (11.2, 0.6), (-11.6, 0.6)  # closed and opening compartment of a valgus test, front view
_BLEND = 9.0  # skin stretches over so many units on both sides of the joint line


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """One test of one leg.

    Parameters
    ----------
    from_mm, to_mm
        Where the tibia stands before and at the end of the test: forwards of its usual place, negative
        behind, -25 to 25; or how far the joint stands open, 0 to 20.
    firm
        Whether the end point is firm; None where that is not shown.
    knee_deg
        How far the knee is bent in a stress test, 0 to 30; seen from the front, so only the title says it.
    seen
        How the leg looks otherwise.
    """

    test: Played
    side: Side
    to_mm: float
    from_mm: float = 0.0
    firm: bool | None = True
    knee_deg: float = 30.0
    seen: SeenLeg = field(default_factory=SeenLeg)


def play(each: Play) -> Motion:
    """Return a test as two key positions, before it and at its end."""
    sheets = tuple(_sheet(each, at_mm) for at_mm in (each.from_mm, each.to_mm))
    duration_ms, ease = {True: _FIRM, False: _SOFT, None: _UNTOLD}[each.firm]
    return Motion(
        title=sheets[0].title,
        words=_words(each),
        keys_pct=(0.0, 100.0),
        sheets=sheets,
        duration_ms=duration_ms,
        ease=ease,
    )


def _words(each: Play) -> str:
    moves = abs(each.to_mm - each.from_mm)
    stops = {True: " and stops firmly", False: " and stops softly", None: ""}[each.firm]
    if each.test in _BENT_DEG:
        if round(moves) == 0:
            return f"The {each.side} tibia does not move."
        way = "forward" if each.to_mm > each.from_mm else "back"
        return f"The {each.side} tibia slides {way} about {round(moves)} mm{stops}."
    if round(moves) == 0:
        return f"The {each.side} knee does not open."
    flank = "inner" if each.test is Played.VALGUS else "outer"
    return f"The {each.side} knee opens on its {flank} side about {round(moves)} mm{stops}."


def _sheet(each: Play, at_mm: float) -> Sheet:
    title = f"{each.side.capitalize()} knee, {_NAMES[each.test]}"
    if each.test not in _BENT_DEG:
        title += ", knee straight" if each.knee_deg == 0 else f", knee at {round(each.knee_deg)} degrees"
        window = Window(left=-58 * UNIT, top=-47 * UNIT, width=116 * UNIT, height=96 * UNIT)
        items = tuple(_opened(each, at_mm))
    else:
        leg = glided_leg(each, at_mm)
        behind, front = held(leg, _HANDS[each.test])
        turned = Placing(posture="supine")
        knee = turned.place(leg.knee)
        height = 150 if each.test is Played.LACHMAN else 190
        window = Window(left=knee[0] - 110, top=knee[1] - 66, width=250, height=height)
        items = tuple(
            replace(item, points=turned.places(item.points))
            for item in (*behind, *bare_items(leg, each.seen, hatched=False), *front)
        )
        if each.side is Side.LEFT:
            items = tuple(map(mirrored, items))
            window = replace(window, left=-window.left - window.width)
    return Sheet(title=title, window=window, scale=3200 / window.width, items=items)


def glided_leg(each: Play, at_mm: float) -> Leg:
    """Return the leg in profile with the tibia so far forwards, thigh and foot where they were."""
    bent = LegPose(knee_flexion_deg=_BENT_DEG[each.test], ankle_flexion_deg=-20)
    lying = resting(bent, on="heel" if each.test is Played.LACHMAN else "sole")
    return build_leg(replace(lying, tibia_forwards_mm=at_mm))


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A knee from the front that stands open on one flank by some millimetres."""

    seen: SeenLeg
    side: Side
    medial: bool
    opens_mm: float

    @property
    def _pose(self) -> FrontPose:
        return FrontPose(valgus_deg=self.seen.alignment_deg, lateral=-1 if self.side is Side.RIGHT else 1)

    def place(self, point: Sequence[float], *, share: float = 1.0) -> Point:
        """Return where a point of the tibia stands; of skin that follows it by a ``share``."""
        pose = self._pose
        hinge, gap = (pose.place(each) for each in (_HINGE, _GAP))
        if not self.medial:
            hinge, gap = gap, hinge
        wide_mm = math.dist(hinge, gap) * MM
        way = -1 if (hinge[0] < gap[0]) else 1
        turn = way * 2 * math.asin(min(self.opens_mm / (2 * wide_mm), 1.0)) * share
        x, y = pose.place(point)
        dx, dy = x - hinge[0], y - hinge[1]
        return (
            hinge[0] + dx * math.cos(turn) + dy * math.sin(turn),
            hinge[1] + dy * math.cos(turn) - dx * math.sin(turn),
        )

    def skin(self, point: Sequence[float]) -> Point:
        """Return where a point of the skin stands, stretched about the joint line."""
        grown = min(max((point[1] + _BLEND) / (2 * _BLEND), 0.0), 1.0)
        return self.place(point, share=grown * grown * (3 - 2 * grown))

    def still(self, point: Sequence[float]) -> Point:
        """Return where a point of the femur stands."""
        return self._pose.place(point)


def _opened(each: Play, at_mm: float) -> Iterator[Item]:
    knee = Opened(seen=each.seen, side=each.side, medial=each.test is Played.VALGUS, opens_mm=at_mm)
    skin, front = knee_outline()["skin"], body()["front"]
    shapes = {shape["name"]: shape["points"] for shape in knee_outline()["shape"]}
    lateral = tuple(
        map(knee.skin, (front["lateral_above"][-1], *skin["lateral"], *front["lateral_below"][:2]))
    )
    medial = tuple(map(knee.skin, (front["medial_above"][-1], *skin["medial"], *front["medial_below"][:2])))
    yield Item(tone="skin", points=(*lateral, *medial[::-1]), weight=0)
    for name, place in (("fibula", knee.place), ("femur", knee.still), ("tibia", knee.place)):
        yield Item(tone="bone", points=tuple(map(place, shapes[name])), way="closed", weight=10)
    yield Item(tone="bone", points=tuple(map(knee.still, shapes["patella"])), way="closed", weight=13)
    for flank in (lateral, medial):
        yield Item(tone="ink", points=flank, way="ink", weight=28)
    at, turn_deg = _PRESSES[each.test]
    way = -1 if each.side is Side.LEFT else 1
    hand = laid(knee.still(at), (way, 0.0), turn_deg=turn_deg, flip=way < 0)
    yield from hand_items(hands()["wrap"]["parts"], hand)
