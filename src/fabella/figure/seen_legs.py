"""What can be seen of a pair of legs: plain values that a living figure draws, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from fabella.anatomy import Side


class View(StrEnum):
    """From where a pair of legs is looked at: standing, lying, or lying with the knees at a right angle."""

    FRONT = "front"
    BACK = "back"
    RIGHT = "right"
    LEFT = "left"
    ABOVE = "above"
    RIGHT_ANGLE_RIGHT = "right_angle_right"
    RIGHT_ANGLE_LEFT = "right_angle_left"
    LYING_RIGHT = "lying_right"
    LYING_LEFT = "lying_left"

    @property
    def near(self) -> Side:
        """The leg on the reader's side, in a view from the side."""
        return Side.LEFT if self in {View.LEFT, View.RIGHT_ANGLE_LEFT, View.LYING_LEFT} else Side.RIGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenLeg:
    """One leg as it looks; the defaults are those of a sound leg.

    Parameters
    ----------
    alignment_deg
        Between the shafts of femur and tibia, valgus positive, -25 to 30.
    extension_deg
        Positive beyond straight, negative when the knee stands bent, -60 to 15.
    heel_deg
        Lean of the heel outwards against the shank, seen from behind, -20 to 25.
    sag_mm
        How far the tibia has sunk back at a right angle, 0 to 25.
    fullness
        0 none to 3 marked; ``wasting`` (of the thigh), ``calf_wasting`` and ``redness`` 0 none to 2 marked.
    deformed
        Whether the shank lies out of line and the foot rolled out.
    held_flexed
        Whether the knee is kept half bent while lying.
    """

    alignment_deg: float = 6.0
    extension_deg: float = 0.0
    heel_deg: float = 4.0
    sag_mm: float = 0.0
    fullness: int = 0
    wasting: int = 0
    calf_wasting: int = 0
    redness: int = 0
    patella_turned_in: bool = False
    patella_high: bool = False
    patella_low: bool = False
    patella_out: bool = False
    prepatellar: bool = False
    behind: bool = False
    tubercle: bool = False
    flat_foot: bool = False
    high_arch: bool = False
    bruise: bool = False
    scar: bool = False
    wound: bool = False
    deformed: bool = False
    held_flexed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenLegs:
    """Both legs as they look."""

    right: SeenLeg = field(default_factory=SeenLeg)
    left: SeenLeg = field(default_factory=SeenLeg)

    def of(self, side: Side) -> SeenLeg:
        """Return the leg of a side."""
        return self.right if side is Side.RIGHT else self.left


def bump(at: float, middle: float, half: float) -> float:
    """Return a smooth hill of height 1 at its middle, 0 from ``half`` away: how skin swells or sinks."""
    share = abs(at - middle) / half
    return 0.0 if share >= 1 else (1 - share * share) ** 2
