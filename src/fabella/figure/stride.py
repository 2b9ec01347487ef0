"""One leg through a stride: published normal curves of its joints, changed by limp, stiffness and thrust."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING, Any

from fabella.figure.pose import LegPose
from fabella.figure.seen_legs import SeenLeg, bump
from fabella.figure.tables import gait
from fabella.stats.deferred import scipy

if TYPE_CHECKING:
    from scipy.interpolate import PchipInterpolator

_LOW_PCT, _HIGH_PCT = 42.0, 96.0  # between these the knee bends to swing, and straightens again


class Thrust(StrEnum):
    """Where a knee jerks as it takes weight."""

    NONE = "none"
    VARUS = "varus"
    VALGUS = "valgus"


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkingLeg:
    """How one leg walks.

    Parameters
    ----------
    stance_share_pct
        Share of the cycle with the foot on the ground, 40 to 80.
    peak_flexion_deg
        Most the knee bends in swing, 10 to 80.
    limp
        0 none, 1 mild, 2 marked: how little the hip is left behind. The shortened stance is asked for apart.
    stiff
        Whether the knee hardly yields as it takes weight.
    foot_out_deg
        How far the foot points outwards of the line of walking, -40 to 50; 10 is usual.
    drops
        Whether the pelvis drops to the other side while this leg stands alone.
    seen
        How the leg looks otherwise.
    """

    stance_share_pct: float = 61.0
    peak_flexion_deg: float = 60.0
    limp: int = 0
    stiff: bool = False
    thrust: Thrust = Thrust.NONE
    foot_out_deg: float = 10.0
    drops: bool = False
    seen: SeenLeg = field(default_factory=SeenLeg)

    def pose(self, at_pct: float) -> LegPose:
        """Return the angles so far through the leg's own cycle, which starts with contact."""
        at = self._usual_pct(at_pct)
        hip, knee, ankle = (float(_curve(name)(at)) for name in ("hip", "knee", "ankle"))
        if hip < 0:
            hip *= 1 - _changed()["limp_hip"] * self.limp
        return LegPose(hip_flexion_deg=hip, knee_flexion_deg=self._knee(at, knee), ankle_flexion_deg=ankle)

    def alignment_deg(self, at_pct: float) -> float:
        """Return the alignment so far through the cycle, with the jerk of a thrust."""
        changed = _changed()
        jerk = float(changed["thrust_deg"]) * bump(
            self._usual_pct(at_pct), changed["thrust_at"], changed["thrust_half"]
        )
        way = {Thrust.NONE: 0, Thrust.VARUS: -1, Thrust.VALGUS: 1}[self.thrust]
        return self.seen.alignment_deg + way * jerk

    def drop_deg(self, at_pct: float) -> float:
        """Return how far the other side of the pelvis hangs so far through this leg's cycle, 0 when level."""
        changed = _changed()
        alone = bump(self._usual_pct(at_pct), changed["drop_at"], changed["drop_half"])
        return float(changed["drop_deg"]) * alone if self.drops else 0.0

    @property
    def peak_pct(self) -> float:
        """When the knee is bent most, percent of the leg's own cycle."""
        usual = max(gait()["knee"], key=lambda row: row[1])[0]
        off = gait()["toe_off"]
        swing = 100 - self.stance_share_pct
        return float(self.stance_share_pct + (usual - off) * swing / (100 - off))

    def _usual_pct(self, at_pct: float) -> float:
        """The place on the normal curves, whose toe-off is moved to the share of stance asked for."""
        at, share, off = at_pct % 100, self.stance_share_pct, gait()["toe_off"]
        return float(at * off / share if at <= share else off + (at - share) * (100 - off) / (100 - share))

    def _knee(self, at: float, usual: float) -> float:
        low = float(_curve("knee")(_LOW_PCT))
        if usual <= low:
            return usual
        if _LOW_PCT <= at <= _HIGH_PCT:
            most = float(max(deg for _, deg in gait()["knee"]))
            return low + (usual - low) * (self.peak_flexion_deg - low) / (most - low)
        return low + (usual - low) * (float(_changed()["stiff_loading"]) if self.stiff else 1.0)


@cache
def _curve(name: str) -> PchipInterpolator:
    """A curve of the table, smooth, without overshoot beyond its values."""
    at, degrees = zip(*gait()[name], strict=True)
    return scipy.interpolate.PchipInterpolator(at, degrees)


def _changed() -> Mapping[str, Any]:
    changed: Mapping[str, Any] = gait()["changed"]
    return changed
