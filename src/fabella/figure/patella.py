"""The patella pushed aside and counted in quarters of its width, or watched as the knee straightens."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from fabella.anatomy import Side
from fabella.figure.close_front import CloseKnee
from fabella.figure.frontal import UNIT
from fabella.figure.motion import Motion
from fabella.figure.pen import Point
from fabella.figure.pose import MM
from fabella.figure.seen_legs import SeenLeg
from fabella.figure.sheet import Item
from fabella.figure.tables import knee_outline


class Ease(StrEnum):
    """How the patient bears it that the patella is pushed outwards."""

    CALM = "calm"
    TENSE = "tense"
    WARDING = "warding"


_GIVES: Final = {Ease.CALM: 1.0, Ease.TENSE: 0.7, Ease.WARDING: 0.5}  # share of the way left by the muscle
_DRAWN_UP_MM = 4.0  # by a muscle that tightens


def patella_width_mm() -> float:
    """Return the width of the patella that is drawn."""
    points = next(each for each in knee_outline()["shape"] if each["name"] == "patella")["points"]
    across = [x for x, _ in points]
    return float((max(across) - min(across)) * UNIT * MM)


@dataclass(frozen=True, slots=True, kw_only=True)
class Glided:
    """The patella of one knee pushed aside.

    Parameters
    ----------
    quarters
        How far it moves, in quarters of its width, 0 to 5.
    inwards
        Whether it is pushed towards the other knee.
    ease
        How the patient bears it.
    """

    side: Side
    quarters: float
    inwards: bool = False
    ease: Ease = Ease.CALM
    seen: SeenLeg = field(default_factory=SeenLeg)

    @property
    def moves_mm(self) -> float:
        """How far the patella moves."""
        return self.quarters / 4 * patella_width_mm() * _GIVES[self.ease]


def glide_patella(each: Glided) -> Motion:
    """Return the push and the way back."""
    title = f"{each.side.capitalize()} knee, patella pushed {'inwards' if each.inwards else 'outwards'}"
    tense = each.ease is not Ease.CALM
    steps = (
        (0, 0.0, 0.0),
        (12, 0.0, 0.0),
        (48, 1.0, 0.0),
        (58, 1.0, float(tense)),
        (78, 1.0 - 0.6 * tense, float(tense)),
        (100, 0.0, 0.0),
    )
    way = -1 if each.inwards else 1
    sheets = []
    for _, share, alarm in steps:
        across = way * each.moves_mm * share
        edge = (across / MM / UNIT - way * 7.4, -11.0 - alarm * _DRAWN_UP_MM / MM / UNIT)
        hands = [("thumb", edge, 0.0 if each.inwards else 180.0, each.inwards)]
        if each.ease is Ease.WARDING:  # the patient's own hand comes from above
            hands.append(("flat", (10.0 - 4 * alarm, -62.0 + 34 * alarm), 90.0, False))
        knee = CloseKnee(
            seen=each.seen, patella_mm=(across, -alarm * _DRAWN_UP_MM), tense=alarm, hands=tuple(hands)
        )
        sheets.append(knee.sheet(title, each.side, _quarters(knee, (across, -alarm * _DRAWN_UP_MM))))
    return Motion(
        title=title,
        words=_words(each),
        keys_pct=tuple(float(step[0]) for step in steps),
        sheets=tuple(sheets),
        duration_ms=2600,
    )


def _words(each: Glided) -> str:
    halves = round(8 * each.moves_mm / patella_width_mm())
    moves = (
        f"The {each.side} kneecap moves {'inwards' if each.inwards else 'outwards'} by about "
        f"{halves / 2:g} quarter{'' if halves == 2 else 's'} of its width"  # noqa: PLR2004 - one quarter
    )
    match each.ease:
        case Ease.TENSE:
            return f"{moves}; then the thigh muscle tightens and draws it up."
        case Ease.WARDING:
            return f"{moves}; then the thigh muscle tightens and the patient's hand comes to stop it."
    return f"{moves}, the thigh at ease."


def _quarters(knee: CloseKnee, moved_mm: Point) -> tuple[Item, ...]:
    """Three lines on the patella that divide its width, and a mark on the skin where its middle lay."""
    x0, y0 = (at / MM / UNIT for at in moved_mm)
    rows = ((-3.0, -16.4, -6.2), (0.5, -18.2, -4.6), (4.0, -16.4, -6.2))
    lines = [((x + x0, top + y0), (x + x0, foot + y0)) for x, top, foot in rows]
    return tuple(Item(tone="soft", points=knee.pose.places(line), way="chain", weight=9) for line in lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tracked:
    """The patella of one knee as it straightens; ``jumps_mm`` is how far it leaves its groove at the end."""

    side: Side
    jumps_mm: float
    seen: SeenLeg = field(default_factory=SeenLeg)


def track_patella(each: Tracked) -> Motion:
    """Return how the patella rises as the knee straightens, and where it goes at the end."""
    title = f"{each.side.capitalize()} knee straightening, from the front"
    usual = 2.0
    steps = (
        (0, 0.0, 22.0),
        (40, 0.5, 10.0),
        (72, 1.0, 3.0),
        (84, usual + each.jumps_mm, 0.0),
        (100, usual + each.jumps_mm, 0.0),
    )
    sheets = tuple(
        CloseKnee(seen=each.seen, patella_mm=(across, down)).sheet(title, each.side)
        for _, across, down in steps
    )
    how = (
        f"jumps outwards by about {round(each.jumps_mm)} mm just before the knee is straight"
        if each.jumps_mm
        else "runs upwards in a nearly straight line"
    )
    return Motion(
        title=title,
        words=f"The {each.side} kneecap {how}.",
        keys_pct=tuple(float(step[0]) for step in steps),
        sheets=sheets,
        duration_ms=2400,
    )
