"""From what a student may see to the living figure; nothing hidden passes here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, replace
from typing import Any

from fabella.anatomy import Side
from fabella.figure import (
    Motion,
    Play,
    Played,
    SeenLeg,
    SeenLegs,
    Thrust,
    View,
    Walk,
    WalkingLeg,
    living_figure,
    play,
)
from fabella.teach.actions import Act
from fabella.teach.run import Turn
from fabella.teach.seen import LegLook, Look, Shown

VIEWS = {
    "standing": (View.FRONT, View.RIGHT, View.BACK, View.LEFT),
    "walking": (View.FRONT, View.RIGHT, View.BACK, View.LEFT),
    "lying": (View.ABOVE,),
    "knees_90": (View.RIGHT_ANGLE_RIGHT, View.RIGHT_ANGLE_LEFT),
}
"""From where the legs can be looked at in each position."""

_PULLS = {
    "lachman": Played.LACHMAN,
    "lachman_end_point": Played.LACHMAN,
    "anterior_drawer": Played.ANTERIOR_DRAWER,
    "posterior_drawer": Played.POSTERIOR_DRAWER,
}
_STRESSES = {
    "valgus_stress_0": (Played.VALGUS, 0.0),
    "valgus_stress_30": (Played.VALGUS, 30.0),
    "varus_stress_0": (Played.VARUS, 0.0),
    "varus_stress_30": (Played.VARUS, 30.0),
}
_MOST_MM = {"glides": 25.0, "opens": 20.0}
_DRAWN = {each.name for each in fields(SeenLeg)}
_WALKED = ("stance_share_pct", "peak_flexion_deg", "limp", "stiff")


def seen_legs(look: Look) -> SeenLegs:
    """Return the legs as they are drawn; what cannot be seen in the position is drawn as usual."""
    return SeenLegs(right=_leg(look.right), left=_leg(look.left))


def walk_of(look: Look) -> Walk:
    """Return the walk as it is drawn, from a look at somebody who walks."""
    cadence = {} if look.cadence_per_min is None else {"cadence_per_min": look.cadence_per_min}
    return Walk(right=_walking(look.right), left=_walking(look.left), **cadence)


def seen_so_far(turns: Iterable[Turn]) -> Look | None:
    """Return everything that turns showed of the legs as one look, later sights before earlier ones."""
    looks = [turn.seen.look for turn in turns if turn.seen.look is not None]
    if not looks:
        return None
    right, left = (_merged([each.right for each in looks]), _merged([each.left for each in looks]))
    return replace(looks[-1], right=right, left=left)


def _merged(legs: list[LegLook]) -> LegLook:
    names = [each.name for each in fields(LegLook)]
    return LegLook(**{key: value for leg in legs for key, value in _known(leg, names).items()})


def still_of(look: Look, view: View) -> str:
    """Return the drawing of a look that does not move, as SVG; ``view`` is one of `VIEWS` of its position."""
    return living_figure(seen_legs(look), view)


def motion_of(turn: Turn, look: Look | None) -> Motion | None:
    """Return what was done in a turn as a moving drawing, None where nothing moves that can be seen.

    Parameters
    ----------
    turn
        One event and what it brought.
    look
        How the legs looked so far (`seen_so_far`), None before anything was seen of them: swelling and marks
        are drawn as they were seen.
    """
    event, shown = turn.event, turn.seen.shown
    if event.act is not Act.DO or event.side is None or shown is None or not shown.possible:
        return None
    return _tested(event.sign or "", event.side, shown, look)


def _tested(sign: str, side: Side, shown: Shown, look: Look | None) -> Motion | None:
    legs = SeenLegs() if look is None else seen_legs(look)
    seen = legs.of(side)
    moves_mm = shown.value if shown.travel_mm is None else shown.travel_mm
    if sign in _PULLS and moves_mm is not None:
        backwards = sign == "posterior_drawer"  # which starts with the step restored, as it is taught
        start = -seen.sag_mm if sign == "anterior_drawer" else 0.0
        end = min(
            max(start + (-moves_mm if backwards else moves_mm), -_MOST_MM["glides"]), _MOST_MM["glides"]
        )
        pulled = Play(test=_PULLS[sign], side=side, from_mm=start, to_mm=end, firm=shown.firm, seen=seen)
        return play(pulled)
    if sign in _STRESSES and moves_mm is not None:
        test, knee_deg = _STRESSES[sign]
        opens_mm = min(moves_mm, _MOST_MM["opens"])
        return play(Play(test=test, side=side, to_mm=opens_mm, firm=shown.firm, knee_deg=knee_deg, seen=seen))
    return None


def _leg(look: LegLook) -> SeenLeg:
    return SeenLeg(**_known(look, _DRAWN))


def _walking(look: LegLook) -> WalkingLeg:
    out = {} if look.foot_progression_deg is None else {"foot_out_deg": look.foot_progression_deg}
    return WalkingLeg(
        **_known(look, _WALKED),
        **out,
        thrust=Thrust(look.thrust or "none"),
        drops=bool(look.trendelenburg),
        seen=_leg(look),
    )


def _known(look: LegLook, names: Iterable[str]) -> dict[str, Any]:
    found = {name: getattr(look, name, None) for name in names}
    return {name: value for name, value in found.items() if value is not None}
