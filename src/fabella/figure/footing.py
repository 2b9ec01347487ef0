"""How a walker's feet meet the floor: a standing foot touches it, a swinging one is clear of it.

The curves of hip and knee are kept; heights of the hips and the ankles of standing feet follow from them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from fabella.anatomy import Side
from fabella.figure.pen import Point
from fabella.figure.pose import LegPose, length
from fabella.figure.tables import body

TOES_FROM = (84.0, 36.0)
"""Where the toes bend, from the ankle towards the toes and towards the sole, thousandths of stature."""
_MOST_TOES_DEG = 40.0
_CLEARS = 3.0  # least height of a swinging foot, thousandths of stature
_FADE = 10.0  # percent of the cycle in which an ankle finds back to its curve
_LATE = 0.45  # share of stance from which a foot may stand on its toes


@dataclass(frozen=True, slots=True, kw_only=True)
class Footing:
    """A leg's pose with its foot on the floor or clear of it: height of its hip, bend of its toes."""

    pose: LegPose
    hip: float
    toes_deg: float


@dataclass(frozen=True, kw_only=True)
class Steps:
    """The stride of both legs: poses by own percent of the cycle, time of contact, share of stance."""

    pose: Mapping[Side, Callable[[float], LegPose]]
    contact_pct: Mapping[Side, float]
    stance_pct: Mapping[Side, float]

    def own_pct(self, side: Side, at_pct: float) -> float:
        """Return how far a leg is through its own cycle, 0 to below 100."""
        own = (at_pct - self.contact_pct[side]) % 100
        return 0.0 if own > 100 - 1e-9 else own

    def stands(self, side: Side, at_pct: float) -> bool:
        """Return whether a foot is on the ground."""
        return self.own_pct(side, at_pct) <= self.stance_pct[side] + 1e-9

    @cached_property
    def _marks(self) -> tuple[Point, ...]:
        """Times and heights of the hips from the mark before the stride to the one after it."""
        marks = []
        for side in Side:
            start, pose = self.contact_pct[side], self.pose[side]
            middle = self.stance_pct[side] / 2
            marks.append((start % 100, _depth(pose(0.0), 0.0)))
            marks.append(((start + middle) % 100, _flat(pose(middle))))
        marks.sort()
        return ((marks[-1][0] - 100, marks[-1][1]), *marks, (marks[0][0] + 100, marks[0][1]))

    def height(self, at_pct: float) -> float:
        """Return the height of the hips: that of a heel at each contact, of a flat foot in between."""
        for (t0, h0), (t1, h1) in pairwise(self._marks):
            if t0 <= at_pct % 100 <= t1:
                share = (1 - math.cos(math.pi * (at_pct % 100 - t0) / ((t1 - t0) or 1.0))) / 2
                between = h0 + share * (h1 - h0)
        flats = [_flat(self.pose[s](self.own_pct(s, at_pct))) for s in Side if self.stands(s, at_pct)]
        return max(between, *flats)

    def footing(self, side: Side, at_pct: float) -> Footing:
        """Return how a leg stands or swings so far through the stride."""
        own, share = self.own_pct(side, at_pct), self.stance_pct[side]
        if own <= share + 1e-9:
            return self._standing(side, at_pct)
        usual, height = self.pose[side](own), self.height(at_pct)
        off = self._standing(side, self.contact_pct[side] + share)
        on = self._standing(side, self.contact_pct[side])
        after, before = max(0.0, 1 - (own - share) / _FADE), max(0.0, 1 - (100 - own) / _FADE)
        ankle = usual.ankle_flexion_deg
        ankle += after * (off.pose.ankle_flexion_deg - self.pose[side](share).ankle_flexion_deg)
        ankle += before * (on.pose.ankle_flexion_deg - self.pose[side](0.0).ankle_flexion_deg)
        pose, toes = replace(usual, ankle_flexion_deg=ankle), after * off.toes_deg
        room = _CLEARS * min(1.0, own - share, 100 - own)
        over = _depth(pose, toes) - (height - room)
        return Footing(pose=pose, hip=-height - max(over, 0.0), toes_deg=toes)

    def _standing(self, side: Side, at_pct: float) -> Footing:
        own, height = self.own_pct(side, at_pct), self.height(at_pct)
        usual = self.pose[side](min(own, self.stance_pct[side]))
        late = own > _LATE * self.stance_pct[side]
        flat = usual.knee_flexion_deg - usual.hip_flexion_deg
        low, high = 0.0, 60.0 if late else 26.0  # how far the foot is turned from flat onto toes or heel
        for _ in range(40):
            middle = (low + high) / 2
            tried, toes = _tilted(usual, flat, middle, late=late)
            low, high = (middle, high) if _depth(tried, toes) < height else (low, middle)
        pose, toes = _tilted(usual, flat, low, late=late)
        # A foot that does not reach the floor even so takes its side of the pelvis down with it.
        return Footing(pose=pose, hip=-min(height, _depth(pose, toes)), toes_deg=toes)


def _tilted(usual: LegPose, flat: float, by_deg: float, *, late: bool) -> tuple[LegPose, float]:
    ankle = flat - by_deg if late else flat + by_deg
    return replace(usual, ankle_flexion_deg=ankle), min(by_deg, _MOST_TOES_DEG) if late else 0.0


def _flat(pose: LegPose) -> float:
    return _depth(replace(pose, ankle_flexion_deg=pose.knee_flexion_deg - pose.hip_flexion_deg), 0.0)


def _depth(pose: LegPose, toes_deg: float) -> float:
    """How far the lowest point of the foot lies beneath the hip."""
    shank = pose.hip_flexion_deg - pose.knee_flexion_deg
    thigh, below = (math.radians(each) for each in (pose.hip_flexion_deg, shank))
    ankle = length("thigh") * math.cos(thigh) + length("shank") * math.cos(below)
    pitch = math.radians(shank + pose.ankle_flexion_deg)
    rows = body()["side"]["foot"]
    points = [bent_toe(x, y, toes_deg) for part in ("top", "sole", "heel") for x, y in rows[part]]
    return ankle + max(y * math.cos(pitch) - x * math.sin(pitch) for x, y in points)


def bent_toe(x: float, y: float, toes_deg: float) -> tuple[float, float]:
    """Return where a point of the foot stands once the toes are bent upwards; what lies behind them stays."""
    if x <= TOES_FROM[0] or not toes_deg:
        return x, y
    turn = math.radians(toes_deg)
    dx, dy = x - TOES_FROM[0], y - TOES_FROM[1]
    return (
        TOES_FROM[0] + dx * math.cos(turn) + dy * math.sin(turn),
        TOES_FROM[1] + dy * math.cos(turn) - dx * math.sin(turn),
    )
