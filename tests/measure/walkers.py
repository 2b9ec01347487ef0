"""Walkers whose truth is known: contacts drawn with jitter, and markers on the figure that walks."""

from __future__ import annotations

import math

import numpy as np

from fabella.anatomy import Side
from fabella.figure.pose import length
from fabella.figure.walking import Walk
from fabella.measure.walking_contacts import Contact, Foot

STEP_S = {Foot.RIGHT: 0.56, Foot.LEFT: 0.52}


def drawn_contacts(
    dice: np.random.Generator,
    *,
    steps: int,
    walker_s: float = 0.0,
    jitter_s: float = 0.0,
    offset_s: float = 0.0,
) -> list[Contact]:
    """Return contacts of somebody whose steps vary, timed with jitter, the right foot late throughout."""
    at, foot, contacts = 1.0, Foot.LEFT, []
    for _ in range(steps + 1):
        late = offset_s if foot is Foot.RIGHT else 0.0
        contacts.append(Contact(foot=foot, at_s=at + late + float(dice.normal(0, jitter_s))))
        foot = foot.other
        at += STEP_S[foot] + float(dice.normal(0, walker_s))
    return contacts


def figure_markers(
    walk: Walk, *, strides: int = 8, rate: float = 100.0, stride_m: float = 1.3, stature_m: float = 1.7
) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """Return times and places in metres of markers on the figure of this project as it walks over ground."""
    period, mm = walk.stride_ms / 1000, stature_m / 1000
    times = np.arange(int(strides * period * rate)) / rate
    rows: dict[str, list[np.ndarray]] = {}
    for time in times:
        hips = []
        for side in Side:
            stands = walk.steps.footing(side, (100 * time / period) % 100)
            thigh = math.radians(stands.pose.hip_flexion_deg)
            shank = thigh - math.radians(stands.pose.knee_flexion_deg)
            pitch = shank + math.radians(stands.pose.ankle_flexion_deg)
            hip = np.array([stride_m * time / period, 0.1 if side is Side.LEFT else -0.1, -stands.hip * mm])
            knee = hip + length("thigh") * mm * np.array([math.sin(thigh), 0, -math.cos(thigh)])
            ankle = knee + length("shank") * mm * np.array([math.sin(shank), 0, -math.cos(shank)])
            along = mm * np.array([math.cos(pitch), 0, math.sin(pitch)])
            below = mm * np.array([math.sin(pitch), 0, -math.cos(pitch)])
            places = {"hip": hip, "knee": knee, "ankle": ankle}
            places |= {"heel": ankle - 25 * along + 30 * below, "toe": ankle + 84 * along + 36 * below}
            for name, place in places.items():
                rows.setdefault(f"{side}_{name}", []).append(place)
            hips.append(hip)
        rows.setdefault("sacrum", []).append(sum(hips) / 2 + np.array([-0.1, 0, 0.1]))
    return times, {name: np.array(places) for name, places in rows.items()}
