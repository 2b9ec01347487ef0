"""From what a student may see to the living figure; nothing hidden passes here."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from fabella.figure import SeenLeg, SeenLegs, Thrust, View, Walk, WalkingLeg
from fabella.teach.seen import LegLook, Look

VIEWS = {
    "standing": (View.FRONT, View.RIGHT, View.BACK, View.LEFT),
    "walking": (View.FRONT, View.RIGHT, View.LEFT),
    "lying": (View.ABOVE,),
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


def _leg(look: LegLook) -> SeenLeg:
    return SeenLeg(**_known(look, _DRAWN))


def _walking(look: LegLook) -> WalkingLeg:
    return WalkingLeg(**_known(look, _WALKED), thrust=Thrust(look.thrust or "none"), seen=_leg(look))


def _known(look: LegLook, names: set[str] | tuple[str, ...]) -> dict[str, Any]:
    found = {name: getattr(look, name, None) for name in names}
    return {name: value for name, value in found.items() if value is not None}
