"""How far a knee bends, straightens and holds straight: movements that stop at the angle that was read."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from fabella.anatomy import Side
from fabella.figure.bending import Bending, Moment, bend
from fabella.figure.motion import Motion
from fabella.figure.plan import Hand, Spot
from fabella.figure.seen_legs import SeenLeg


class Ranged(StrEnum):
    """The movements."""

    BENDS = "bends"
    IS_BENT = "is_bent"
    STRAIGHTENS = "straightens"
    SINKS = "sinks"
    LIFTS = "lifts"
    CATCHES = "catches"


_TITLES = {
    Ranged.BENDS: "leg, the patient bends the knee",
    Ranged.IS_BENT: "leg, the knee is bent as far as it goes",
    Ranged.STRAIGHTENS: "leg, the heel is lifted with the thigh on the couch",
    Ranged.SINKS: "leg, held up straight and let go",
    Ranged.LIFTS: "leg, the patient lifts the heel",
    Ranged.CATCHES: "leg, the knee sinks towards straight",
}
_HEEL = Hand(hold="wrap", spot=Spot(on="shank", at=0.95, side="back", out=-38.0))
_SHIN = Hand(hold="wrap", spot=Spot(on="shank", at=0.52, out=-36.0))
_THIGH = Hand(hold="palm", spot=Spot(on="thigh", at=0.7))
_RAISED_DEG, _SPRINGS_DEG = 22.0, 7.0
_START_DEG = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranging:
    """One movement of one knee.

    Parameters
    ----------
    to_deg
        Flexion of the knee at its end, negative beyond straight.
    springs
        Whether it springs back from there.
    able
        Whether the heel leaves the couch at all.
    """

    way: Ranged
    side: Side
    to_deg: float
    springs: bool = False
    able: bool = True
    seen: SeenLeg = field(default_factory=SeenLeg)


def move_knee(each: Ranging) -> Motion:
    """Return the movement."""
    moments, duration_ms = _moments(each)
    hands = {
        Ranged.IS_BENT: (_SHIN,),
        Ranged.STRAIGHTENS: (_THIGH, _HEEL),
        Ranged.CATCHES: (_HEEL,),
    }.get(each.way, ())
    return bend(
        Bending(
            side=each.side,
            title=f"{each.side.capitalize()} {_TITLES[each.way]}",
            words=_words(each),
            moments=moments,
            duration_ms=duration_ms,
            hands=hands,
            high=_high(each.way, moments),
            seen=each.seen,
        )
    )


def _high(way: Ranged, moments: tuple[Moment, ...]) -> float:
    """The room a movement needs: a lifted leg much, a bent one the more the further it is bent."""
    if way in {Ranged.SINKS, Ranged.LIFTS}:
        return 380.0
    return min(230.0 + 2.2 * max(0.0, max(each.knee_deg for each in moments) - 50), 380.0)


def _moments(each: Ranging) -> tuple[tuple[Moment, ...], float]:
    to = each.to_deg
    match each.way:
        case Ranged.BENDS | Ranged.IS_BENT:
            start = 0.0 if each.way is Ranged.BENDS else max(to - 60.0, 0.0)
            return _from_to(start, to, ankle=True), 2600
        case Ranged.STRAIGHTENS:
            start = max(_START_DEG, to + _START_DEG)
            return (*_from_to(start, to, last=80.0), Moment(at_pct=100, knee_deg=to)), 1800
        case Ranged.CATCHES:
            back = to + _SPRINGS_DEG * each.springs
            falls = _from_to(to + 35.0, to, last=60.0)
            return (*falls, Moment(at_pct=74, knee_deg=back), Moment(at_pct=100, knee_deg=back)), 1700
        case Ranged.SINKS:
            held = [Moment(at_pct=at, knee_deg=0.0, hip_deg=_RAISED_DEG) for at in (0.0, 30.0)]
            sinks = [
                Moment(at_pct=30 + 50 * share, knee_deg=to * share, hip_deg=_RAISED_DEG)
                for share in (0.5, 1.0)
            ]
            return (*held, *sinks, Moment(at_pct=100, knee_deg=to, hip_deg=_RAISED_DEG)), 2600
    rest = Moment(at_pct=0, knee_deg=0.0)
    if not each.able:
        return (rest, Moment(at_pct=100, knee_deg=0.0)), 1800
    lifts = [
        Moment(at_pct=60 * share, knee_deg=to * min(1.0, 2 * share), hip_deg=4 + 16 * share + to / 2)
        for share in (0.33, 0.67, 1.0)
    ]
    return (rest, *lifts, Moment(at_pct=100, knee_deg=to, hip_deg=lifts[-1].hip_deg)), 2200


def _from_to(start: float, end: float, *, last: float = 100.0, ankle: bool = False) -> tuple[Moment, ...]:
    """Evenly through the angles, close enough that lines between them do not show."""
    count = max(2, round(abs(end - start) / 14))
    return tuple(
        Moment(
            at_pct=last * step / count,
            knee_deg=start + (end - start) * step / count,
            ankle_deg=-20.0 + 12.0 * step / count * ankle,
        )
        for step in range(count + 1)
    )


def _words(each: Ranging) -> str:
    side, to = each.side, round(abs(each.to_deg))
    angle = "straight" if to == 0 else f"about {to}° {'short of' if each.to_deg > 0 else 'beyond'} straight"
    match each.way:
        case Ranged.BENDS | Ranged.IS_BENT:
            return f"The {side} knee bends to about {to}° and stops."
        case Ranged.STRAIGHTENS:
            return f"The {side} knee straightens and stops {angle}."
        case Ranged.SINKS if to:
            return f"Let go, the {side} knee sinks by about {to}°."
        case Ranged.SINKS:
            return f"Let go, the {side} knee stays straight."
        case Ranged.CATCHES:
            stops = "springs back a little" if each.springs else "stops there"
            return f"The {side} knee sinks to {angle} and {stops}."
    if not each.able:
        return f"The {side} heel does not leave the couch."
    return f"The {side} heel is lifted and the knee stays {angle}."
