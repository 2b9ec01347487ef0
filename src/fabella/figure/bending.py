"""A leg in profile that is bent, straightened or lifted: the moments of one movement."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from fabella.anatomy import Side
from fabella.figure.bare_side import bare_items, shorts
from fabella.figure.living import mirrored
from fabella.figure.motion import Motion
from fabella.figure.placing import COUCH, Placing, resting
from fabella.figure.plan import Hand
from fabella.figure.pose import Leg, LegPose, build_leg
from fabella.figure.reach import held
from fabella.figure.seen_legs import SeenLeg
from fabella.figure.sheet import Item, Sheet, Window

_LEFT, _WIDTH = -50.0, 620.0
_CLOSE = Window(left=-130.0, top=-100.0, width=280.0, height=200.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """How the leg stands at one moment.

    Parameters
    ----------
    at_pct
        0 to 100 of the movement.
    knee_deg
        Flexion of the knee, negative beyond straight.
    slide_mm
        The tibia forwards of its place, negative behind.
    hip_deg
        Flexion of the hip; None where the foot rests on the couch and settles it.
    ankle_deg
        Foot upwards of a right angle.
    """

    at_pct: float
    knee_deg: float
    slide_mm: float = 0.0
    hip_deg: float | None = None
    ankle_deg: float = -20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bending:
    """A movement of one leg.

    Parameters
    ----------
    high
        How much room it needs above the couch, thousandths of stature.
    close
        Whether only the knee is shown, which then stays where it is.
    """

    side: Side
    title: str
    words: str
    moments: tuple[Moment, ...]
    duration_ms: float
    hands: tuple[Hand, ...] = ()
    high: float = 230.0
    close: bool = False
    seen: SeenLeg = field(default_factory=SeenLeg)


def bend(each: Bending) -> Motion:
    """Return a movement as a key position for each of its moments."""
    return Motion(
        title=each.title,
        words=each.words,
        keys_pct=tuple(moment.at_pct for moment in each.moments),
        sheets=tuple(_sheet(each, moment) for moment in each.moments),
        duration_ms=each.duration_ms,
    )


def bent_leg(moment: Moment) -> Leg:
    """Return the leg of somebody who lies on the back, as it stands at a moment."""
    pose = LegPose(
        knee_flexion_deg=moment.knee_deg,
        ankle_flexion_deg=moment.ankle_deg,
        tibia_forwards_mm=moment.slide_mm,
    )
    if moment.hip_deg is not None:
        return build_leg(replace(pose, hip_flexion_deg=moment.hip_deg))
    lying = resting(
        replace(pose, tibia_forwards_mm=0.0, knee_flexion_deg=max(moment.knee_deg, 0.0)), on="heel"
    )
    return build_leg(replace(pose, hip_flexion_deg=lying.hip_flexion_deg))


def _sheet(each: Bending, moment: Moment) -> Sheet:
    turned = Placing(posture="supine")
    leg = bent_leg(moment)
    items: Sequence[Item] = [replace(item, points=turned.places(item.points)) for item in _drawn(each, leg)]
    if each.close:
        at = turned.place(leg.knee)
        items = [
            replace(item, points=tuple((x - at[0], y - at[1]) for x, y in item.points)) for item in items
        ]
        window = _CLOSE
    else:
        items = [*_couch(), *items]
        window = Window(left=_LEFT, top=COUCH - each.high, width=_WIDTH, height=each.high + 18)
    if each.side is Side.LEFT:
        items = [mirrored(item) for item in items]
        window = replace(window, left=-window.left - window.width)
    return Sheet(title=each.title, window=window, scale=3200 / window.width, items=tuple(items))


def _drawn(each: Bending, leg: Leg) -> Iterator[Item]:
    behind, front = held(leg, each.hands)
    yield from behind
    yield from bare_items(leg, each.seen, hatched=False)
    yield from () if each.close else shorts(leg)
    yield from front


def _couch() -> Iterator[Item]:
    slab = ((-900.0, COUCH), (900.0, COUCH), (900.0, COUCH + 26), (-900.0, COUCH + 26))
    yield Item(tone="couch", points=slab, way="polygon", weight=14)
