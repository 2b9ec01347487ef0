"""How the figure lies, sits or stands on the page, and where a leg must go to rest on the couch."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fabella.figure.leg import leg_lines
from fabella.figure.pen import Point
from fabella.figure.pose import LegPose, build_leg

COUCH = 64.0
"""How far behind the hip the couch lies beneath somebody on the back, in thousandths of stature."""
COUCH_PRONE = 58.0
"""How far in front of the hip the couch lies beneath somebody on the front."""

_TURNS = {
    "stands": (1, 0, 0, 1),
    "sits": (1, 0, 0, 1),
    "supine": (0, 1, -1, 0),  # the head to the left, as seen from the patient's right side
    "prone": (0, 1, 1, 0),
}
_STEPS = 40  # halvings of the interval in which the angle is sought: far below a thousandth of a degree


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """A turn of the whole figure: ``posture`` is ``stands``, ``sits``, ``supine`` or ``prone``."""

    posture: str

    def place(self, point: Point) -> Point:
        """Return where a point of the standing figure comes to lie."""
        a, b, c, d = _TURNS[self.posture]
        return (a * point[0] + b * point[1], c * point[0] + d * point[1])

    def places(self, points: tuple[Point, ...]) -> tuple[Point, ...]:
        """Return where many points come to lie."""
        return tuple(self.place(point) for point in points)


def resting(pose: LegPose, *, on: str) -> LegPose:
    """Return the pose with the hip bent so that the leg of somebody on the back rests on the couch.

    Parameters
    ----------
    pose
        Its knee is kept, its hip is found.
    on
        ``heel``: the heel lies on the couch and the ankle is kept; ``sole``: the foot stands flat on it;
        ``floor``: the leg of somebody who stands, the foot flat beneath the hip.
    """
    if on == "floor":
        hip_deg = pose.knee_flexion_deg / 2
        return replace(pose, hip_flexion_deg=hip_deg, ankle_flexion_deg=pose.knee_flexion_deg - hip_deg)
    low, high = -20.0, 135.0
    for _ in range(_STEPS):
        middle = (low + high) / 2
        tried = _with_hip(pose, middle, on=on)
        deepest = -min(x for x, _ in leg_lines(build_leg(tried)).foot)
        low, high = (middle, high) if deepest > COUCH else (low, middle)
    return _with_hip(pose, (low + high) / 2, on=on)


def _with_hip(pose: LegPose, hip_deg: float, *, on: str) -> LegPose:
    flat_deg = pose.knee_flexion_deg - hip_deg - 90.0
    ankle_deg = flat_deg if on == "sole" else pose.ankle_flexion_deg
    return replace(pose, hip_flexion_deg=hip_deg, ankle_flexion_deg=ankle_deg)
