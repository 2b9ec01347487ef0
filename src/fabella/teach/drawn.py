"""From what a student may see to the living figure; nothing hidden passes here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, replace
from typing import Any

from fabella.anatomy import Side
from fabella.figure import (
    Motion,
    SeenLeg,
    SeenLegs,
    Thrust,
    View,
    Walk,
    WalkingLeg,
    living_figure,
)
from fabella.teach.actions import Act
from fabella.teach.moved import MOVED, Test
from fabella.teach.run import Turn
from fabella.teach.seen import LegLook, Look

VIEWS = {
    "standing": (View.FRONT, View.RIGHT, View.BACK, View.LEFT),
    "walking": (View.FRONT, View.RIGHT, View.BACK, View.LEFT),
    "lying": (View.ABOVE, View.LYING_RIGHT, View.LYING_LEFT),
    "knees_90": (View.RIGHT_ANGLE_RIGHT, View.RIGHT_ANGLE_LEFT),
}
"""From where the legs can be looked at in each position."""

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
    drawn = MOVED.get(event.sign or "")
    if drawn is None or (shown.level is None and shown.value is None):
        return None
    legs = SeenLegs() if look is None else seen_legs(look)
    own = None if look is None else look.right if event.side is Side.RIGHT else look.left
    lies_deg = 0.0 if own is None or own.extension_deg is None else min(own.extension_deg, 0.0)
    return drawn(Test(side=event.side, shown=shown, seen=legs.of(event.side), lies_deg=lies_deg))


def _leg(look: LegLook) -> SeenLeg:
    return SeenLeg(**_known(look, _DRAWN))


def _walking(look: LegLook) -> WalkingLeg:
    known = _known(look, _WALKED)
    if look.foot_progression_deg is not None:
        known["foot_out_deg"] = look.foot_progression_deg
    thrust, drops = Thrust(look.thrust or "none"), bool(look.trendelenburg)
    return WalkingLeg(**known, thrust=thrust, drops=drops, seen=_leg(look))


def _known(look: LegLook, names: Iterable[str]) -> dict[str, Any]:
    found = {name: getattr(look, name, None) for name in names}
    return {name: value for name, value in found.items() if value is not None}
