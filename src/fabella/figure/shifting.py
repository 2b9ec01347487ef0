"""Tibiae that jump: out of their place and back as the knee bends under load, or out of a sag."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from fabella.anatomy import Side
from fabella.figure.bending import Bending, Moment, bend
from fabella.figure.motion import Motion
from fabella.figure.placing import resting
from fabella.figure.plan import Hand, Spot
from fabella.figure.pose import LegPose
from fabella.figure.seen_legs import SeenLeg


class Shifted(StrEnum):
    """The tests."""

    PIVOT = "pivot"
    REVERSED = "reversed"
    MUSCLE = "muscle"
    STRAIGHTENING = "straightening"


SLIPS_DEG: Final = 30.0
"""Flexion at which a tibia that stood in front goes back (Galway and MacIntosh 1980; from memory)."""
_TITLES = {
    Shifted.PIVOT: "knee bent from straight under load, the foot turned in",
    Shifted.REVERSED: "knee straightened under load, the foot turned out",
    Shifted.MUSCLE: "knee at a right angle, the foot pushed along the couch",
    Shifted.STRAIGHTENING: "knee straightened from a right angle, the thigh upright",
}
_LOADS = (
    Hand(hold="wrap", spot=Spot(on="shank", at=0.2, side="back", out=-50.0)),
    Hand(hold="wrap", spot=Spot(on="foot", at=0.2, side="back", out=-40.0)),
)
_ANKLE = (Hand(hold="wrap", spot=Spot(on="shank", at=0.9, side="back", out=-40.0)),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shifting:
    """One test of one knee.

    Parameters
    ----------
    slips_mm
        How far the tibia jumps, 0 to 20.
    sudden
        Whether it jumps at once or glides.
    """

    test: Shifted
    side: Side
    slips_mm: float
    sudden: bool = True
    seen: SeenLeg = field(default_factory=SeenLeg)


def shift(each: Shifting) -> Motion:
    """Return the test as it is seen from the side."""
    moments = {
        Shifted.PIVOT: _pivot,
        Shifted.REVERSED: _reversed,
        Shifted.MUSCLE: _muscle,
        Shifted.STRAIGHTENING: _straightening,
    }[each.test](each)
    hands = {Shifted.MUSCLE: (), Shifted.STRAIGHTENING: _ANKLE}.get(each.test, _LOADS)
    return bend(
        Bending(
            side=each.side,
            title=f"{each.side.capitalize()} {_TITLES[each.test]}",
            words=_words(each),
            moments=moments,
            duration_ms=1800 if each.test is Shifted.MUSCLE else 3400,
            hands=hands,
            close=True,
            seen=each.seen,
        )
    )


def _pivot(each: Shifting) -> tuple[Moment, ...]:
    """From straight, the tibia in front, to where it has gone back."""
    half = 1.0 if each.sudden else 9.0
    return tuple(
        Moment(
            at_pct=at, knee_deg=knee, slide_mm=share * each.slips_mm, hip_deg=12 + 0.6 * knee, ankle_deg=0.0
        )
        for at, knee, share in (
            (0.0, 3.0, 1.0),
            (30.0, 15.0, 1.0),
            (58.0 - 2 * half, SLIPS_DEG - half, 1.0),
            (60.0, SLIPS_DEG + half, 0.0),
            (80.0, 45.0, 0.0),
            (100.0, 55.0, 0.0),
        )
    )


def _reversed(each: Shifting) -> tuple[Moment, ...]:
    """From a bent knee, the tibia behind, to straight."""
    return tuple(
        Moment(
            at_pct=at, knee_deg=knee, slide_mm=-share * each.slips_mm, hip_deg=12 + 0.6 * knee, ankle_deg=0.0
        )
        for at, knee, share in (
            (0.0, 80.0, 1.0),
            (20.0, 62.0, 1.0),
            (40.0, 44.0, 1.0),
            (60.0, SLIPS_DEG - 2, 1.0),
            (63.0, SLIPS_DEG - 5, 0.0),
            (80.0, 14.0, 0.0),
            (100.0, 3.0, 0.0),
        )
    )


def _muscle(each: Shifting) -> tuple[Moment, ...]:
    """The foot flat, the tibia pulled out of its sag by the thigh muscle."""
    flat = resting(LegPose(knee_flexion_deg=90.0), on="sole")
    return tuple(
        Moment(
            at_pct=at,
            knee_deg=90.0,
            slide_mm=-share * each.slips_mm,
            hip_deg=flat.hip_flexion_deg,
            ankle_deg=flat.ankle_flexion_deg,
        )
        for at, share in ((0.0, 1.0), (40.0, 1.0), (56.0, 0.0), (100.0, 0.0))
    )


def _straightening(each: Shifting) -> tuple[Moment, ...]:
    return tuple(
        Moment(at_pct=at, knee_deg=knee, slide_mm=-share * each.slips_mm, hip_deg=80.0, ankle_deg=0.0)
        for at, knee, share in (
            (0.0, 90.0, 1.0),
            (25.0, 68.0, 1.0),
            (50.0, 46.0, 1.0),
            (72.0, 25.0, 1.0),
            (76.0, 21.0, 0.0),
            (100.0, 5.0, 0.0),
        )
    )


def _words(each: Shifting) -> str:
    side, mm = each.side, round(each.slips_mm)
    how = "jumps" if each.sudden else "glides"
    match each.test:
        case Shifted.PIVOT if mm:
            return f"At about {SLIPS_DEG:.0f}° the {side} tibia {how} back by about {mm} mm."
        case Shifted.PIVOT:
            return f"The {side} knee bends smoothly; the tibia does not move."
        case Shifted.REVERSED | Shifted.STRAIGHTENING if mm:
            return f"Nearly straight, the {side} tibia {how} forward by about {mm} mm."
        case Shifted.MUSCLE if mm:
            return f"As the thigh muscle tightens, the {side} tibia moves forward by about {mm} mm."
        case Shifted.MUSCLE:
            return f"As the thigh muscle tightens, the {side} tibia does not move."
    return f"The {side} knee straightens smoothly; the tibia does not move."
