"""How the legs of a practice patient look in a position, from what its signs show."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fabella.anatomy import Side
from fabella.teach.hidden import Hidden
from fabella.teach.seen import LegLook, Look

_HEEL_DEG, _TILTED_DEG = 4.0, 12.0
"""How far a heel leans outwards as usual, and when it is tilted (judgement: common practice)."""

_SWING_DEG, _STIFF_SWING_DEG = 60.0, 40.0
"""Flexion of the knee in swing, as usual and in a stiff-knee gait (common practice)."""
_FIRM_MM, _LEAST_SAG_MM = 3.0, 4.0
"""Posterior travel of a firm knee, and the least sag that is seen (judgement)."""


def look_at(hidden: Hidden, position: str) -> Look | None:
    """Return what lies open to view in a position once both legs are bare; None if nothing special."""
    view = _VIEWS.get(position)
    if view is None:
        return None
    right, left = (LegLook(side=side, **view(hidden, side)) for side in (Side.RIGHT, Side.LEFT))
    if position != "walking":
        return Look(position=position, right=right, left=left)
    return Look(
        position=position,
        right=right,
        left=left,
        cadence_per_min=hidden.outcomes["cadence", None].value,
        speed_m_per_s=hidden.outcomes["gait_speed", None].value,
        stride_cm=hidden.outcomes["stride_length", None].value,
    )


def _level(hidden: Hidden, sign: str, side: Side) -> int:
    outcome = hidden.outcomes[sign, side]
    return outcome.guarded if hidden.knees[side].guarding else outcome.level


def _bool(hidden: Hidden, sign: str, side: Side) -> bool:
    return _level(hidden, sign, side) > 0


def _skin(hidden: Hidden, side: Side) -> dict[str, Any]:
    return {
        "fullness": _level(hidden, "swelling_visible", side),
        "redness": _level(hidden, "erythema", side),
        "bruise": _bool(hidden, "ecchymosis", side),
        "scar": _bool(hidden, "scar", side),
        "wound": _bool(hidden, "open_wound", side),
        "prepatellar": _bool(hidden, "prepatellar_swelling", side),
        "wasting": _level(hidden, "quadriceps_wasting", side),
    }


def _standing(hidden: Hidden, side: Side) -> dict[str, Any]:
    out, inwards = _bool(hidden, "hindfoot_valgus", side), _bool(hidden, "hindfoot_varus", side)
    bent, back = _bool(hidden, "standing_fixed_flexion", side), _bool(hidden, "standing_recurvatum", side)
    straight = hidden.outcomes["passive_extension", side].value or 0.0
    extension = min(straight, -5.0) if bent else max(straight, 8.0) if back else max(straight, -3.0)
    return _skin(hidden, side) | {
        "alignment_deg": hidden.outcomes["tibiofemoral_angle", side].value,
        "patella_turned_in": _bool(hidden, "patellae_turning_in", side),
        "calf_wasting": _level(hidden, "calf_wasting", side),
        "extension_deg": extension,
        "flat_foot": _bool(hidden, "flat_foot", side),
        "high_arch": _bool(hidden, "high_arch", side),
        "heel_deg": _TILTED_DEG if out else -_TILTED_DEG / 2 if inwards else _HEEL_DEG,
    }


def _walking(hidden: Hidden, side: Side) -> dict[str, Any]:
    thrust = (
        "varus"
        if _bool(hidden, "varus_thrust", side)
        else "valgus"
        if _bool(hidden, "valgus_thrust", side)
        else "none"
    )
    return {
        "alignment_deg": hidden.outcomes["tibiofemoral_angle", side].value,
        "limp": _level(hidden, "antalgic_gait", side),
        "stiff": _bool(hidden, "stiff_knee_gait", side),
        "thrust": thrust,
        "foot_progression_deg": hidden.outcomes["foot_progression_angle", side].value,
        "peak_flexion_deg": _STIFF_SWING_DEG if _bool(hidden, "stiff_knee_gait", side) else _SWING_DEG,
        "stance_share_pct": hidden.outcomes["stance_share", side].value,
        "trendelenburg": _bool(hidden, "trendelenburg_gait", side),
    }


def _lying(hidden: Hidden, side: Side) -> dict[str, Any]:
    return _skin(hidden, side) | {
        "extension_deg": min(hidden.outcomes["passive_extension", side].value or 0.0, 0.0),
        "tubercle": _bool(hidden, "tubercle_prominent", side),
        "patella_high": _bool(hidden, "high_riding_patella", side),
        "patella_low": _bool(hidden, "low_riding_patella", side),
        "patella_out": _bool(hidden, "patella_dislocated_now", side),
        "behind": _bool(hidden, "posterior_swelling", side),
        "deformed": _bool(hidden, "deformity", side),
        "held_flexed": _bool(hidden, "held_flexed", side),
    }


def _right_angle(hidden: Hidden, side: Side) -> dict[str, Any]:
    sunk = (hidden.outcomes["posterior_drawer", side].value or 0.0) - _FIRM_MM
    return {
        "sag_mm": max(sunk, _LEAST_SAG_MM) if _bool(hidden, "posterior_sag", side) else 0.0,
        "tubercle": _bool(hidden, "tubercle_prominent", side),
    }


_VIEWS: dict[str, Callable[[Hidden, Side], dict[str, Any]]] = {
    "standing": _standing,
    "walking": _walking,
    "lying": _lying,
    "knees_90": _right_angle,
}
