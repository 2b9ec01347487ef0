"""What a drawing shows, as data: posture, angles, hands, arrows, marks. Read from ``data/drawings.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType
from typing import Any

from fabella.figure.tables import drawings
from fabella.protocol import load_protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place on the limb in profile.

    ``on`` is ``thigh``, ``shank`` or ``foot``, ``at`` the share of the way along it, ``side`` the flank
    (``front`` or ``back``), ``out`` how far beyond the skin in thousandths of stature, negative beneath it.
    """

    on: str = "thigh"
    at: float = 0.5
    side: str = "front"
    out: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """An examiner's hand: how it holds (a shape of ``hands.toml``), where, turned and flipped how."""

    hold: str
    spot: Spot
    turn_deg: float = 0.0
    flip: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrow:
    """A movement or force.

    ``way`` is ``push`` (towards the skin), ``pull`` (away from it), ``along`` and ``back`` (with and against
    the segment), ``turn`` and ``turn_back`` (round it); ``length`` in thousandths of stature.
    """

    way: str
    spot: Spot
    length: float = 52.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """One drawing.

    ``knee_deg`` comes from the protocol, ``share`` of the way through the sign's range, unless the protocol
    leaves it open. ``ghost_share`` or ``ghost_deg`` shows where the movement goes to. ``focus`` is
    ``leg`` or ``foot``; ``couch_ends`` lets the couch end above the knee.
    """

    signs: tuple[str, ...]
    view: str
    posture: str = "supine"
    rest: str = ""
    share: float = 0.5
    knee_deg: float | None = None
    hip_deg: float = 0.0
    ankle_deg: float = -20.0
    slide_mm: float = 0.0
    ghost_share: float | None = None
    ghost_deg: float | None = None
    focus: str = "leg"
    couch_ends: bool = False
    other_hip_deg: float | None = None
    other_knee_deg: float = 0.0
    hands: tuple[Hand, ...] = ()
    arrows: tuple[Arrow, ...] = ()
    touch: tuple[Spot, ...] = ()
    tools: tuple[str, ...] = ()

    def knee_of(self, sign_id: str) -> float:
        """Return the flexion of the knee in degrees that is drawn for one of the signs."""
        span = load_protocol().sign(sign_id).knee_flexion_deg
        if span is None:
            return self.knee_deg or 0.0
        return span[0] + self.share * (span[1] - span[0])

    def ghost_of(self, sign_id: str) -> float | None:
        """Return the flexion of the knee to which the movement goes, None when nothing moves."""
        if self.ghost_share is None:
            return self.ghost_deg
        return replace(self, share=self.ghost_share).knee_of(sign_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontHand:
    """An examiner's hand in a front view: its tip at a place, its fingers turned from the right."""

    hold: str
    at: tuple[float, float]
    turn_deg: float = 0.0
    flip: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontPlan:
    """One drawing from the front; places are in units of the knee's outline, x lateral, y towards the foot.

    ``view`` is ``knee``, ``leg`` or ``sitting``; ``sited`` marks the place that belongs to each sign.
    """

    signs: tuple[str, ...]
    view: str
    share: float = 0.5
    knee_deg: float | None = None
    valgus_deg: float = 6.0
    opens_mm: float = 0.0
    swings_deg: float = 0.0
    sited: bool = False
    hands: tuple[FrontHand, ...] = ()
    arrows: tuple[tuple[tuple[float, float], ...], ...] = ()
    lines: tuple[tuple[tuple[float, float], ...], ...] = ()
    touch: tuple[tuple[float, float], ...] = ()
    fluid: bool = False

    def knee_of(self, sign_id: str) -> float | None:
        """Return the flexion of the knee in degrees for one of the signs, None where it does not matter."""
        span = load_protocol().sign(sign_id).knee_flexion_deg
        return self.knee_deg if span is None else span[0] + self.share * (span[1] - span[0])


@cache
def plans() -> Mapping[str, Plan | FrontPlan]:
    """Return the plan of every sign that has a drawing, by sign id."""
    found = [_plan(row) for row in drawings()["drawing"]]
    return MappingProxyType({sign: plan for plan in found for sign in plan.signs})


def _plan(row: dict[str, Any]) -> Plan | FrontPlan:
    made = dict(row)
    if row["view"] != "profile":
        for name in ("signs", "touch"):
            made[name] = tuple(row.get(name, ()))
        for name in ("arrows", "lines"):
            made[name] = tuple(tuple((x, y) for x, y in path) for path in row.get(name, ()))
        made["hands"] = tuple(FrontHand(**each) for each in row.get("hands", ()))
        return FrontPlan(**made)
    for name, read in (("hands", _hand), ("arrows", _arrow), ("touch", _spot)):
        made[name] = tuple(read(each) for each in row.get(name, ()))
    for name in ("signs", "tools"):
        made[name] = tuple(row.get(name, ()))
    return Plan(**made)


def _spot(row: dict[str, Any]) -> Spot:
    return Spot(**row)


def _hand(row: dict[str, Any]) -> Hand:
    own = {name: row[name] for name in ("hold", "turn_deg", "flip") if name in row}
    return Hand(**own, spot=_spot({name: value for name, value in row.items() if name not in own}))


def _arrow(row: dict[str, Any]) -> Arrow:
    own = {name: row[name] for name in ("way", "length") if name in row}
    return Arrow(**own, spot=_spot({name: value for name, value in row.items() if name not in own}))
