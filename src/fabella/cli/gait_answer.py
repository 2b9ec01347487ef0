"""A measured walk as JSON: ``fabella.gait/1``."""

from __future__ import annotations

from typing import Any

from fabella.measure.walking import Walking
from fabella.measure.walking_contacts import Contact, Foot
from fabella.measure.walking_knees import READ
from fabella.measure.walking_pace import Estimate
from fabella.record import Finding

FORMAT = "fabella.gait/1"
_DIGITS = 6
_DEGREES = 2


def gait_tree(walking: Walking, findings: tuple[Finding, ...]) -> dict[str, Any]:
    """Return a measured walk as plain data; what is not known is null."""
    pace, knees = walking.pace, walking.knees
    return {
        "format": FORMAT,
        "timing": str(pace.timing),
        "cadence_per_min": _one(pace.cadence_per_min),
        "stride_s": _one(pace.stride_s),
        "variation_s": _one(pace.variation_s),
        "jitter_s": round(pace.jitter_s, _DIGITS),
        "speed_m_per_s": _one(pace.speed_m_per_s),
        "stride_m": _one(pace.stride_m),
        "step_s": {
            "right": _one(pace.right_step_s),
            "left": _one(pace.left_step_s),
            "difference": _one(pace.difference_s),
            "asymmetry_pct": _one(pace.asymmetry_pct),
        },
        "stance_pct": {
            **{str(foot): _one(walking.stance_pct.get(foot)) for foot in Foot},
            "difference": _one(walking.stance_difference_pct),
        },
        "knees": None
        if knees is None
        else {
            **{str(foot): _knee(walking, foot) for foot in Foot},
            "differences": None
            if knees.differences is None
            else {name: _one(each) for name, each in knees.differences.items()},
        },
        "contacts": _events(walking.contacts),
        "leavings": _events(walking.leavings),
        "left_out": list(walking.told),
        "findings": [
            {
                "sign": each.sign,
                **({"side": str(each.side)} if each.side else {}),
                "value": each.value,
                "unit": each.unit,
                "method": each.method,
                "note": each.note,
            }
            for each in findings
        ],
    }


def _one(one: Estimate | None) -> dict[str, float | int] | None:
    if one is None:
        return None
    numbers = {"value": one.value, "error": one.error, "low": one.low, "high": one.high}
    return {**{name: round(each, _DIGITS) + 0.0 for name, each in numbers.items()}, "n": one.n}


def _knee(walking: Walking, foot: Foot) -> dict[str, Any] | None:
    curve = walking.knees.curves.get(foot) if walking.knees else None
    if curve is None:
        return None
    return {
        "strides": curve.strides,
        **{name: _one(getattr(curve, name)) for name in READ},
        "mean_deg": [round(each, _DEGREES) + 0.0 for each in curve.mean_deg],
        "sd_deg": [round(each, _DEGREES) for each in curve.sd_deg],
    }


def _events(events: tuple[Contact, ...]) -> list[dict[str, Any]]:
    return [{"foot": str(each.foot), "at_s": round(each.at_s, _DIGITS)} for each in events]
