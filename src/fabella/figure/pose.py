"""Joint angles and segment lengths become joint centres: a figure in profile that stands and faces forwards.

Coordinates are thousandths of stature: x forwards, y towards the ground, the hip at the origin. Whoever lies
or sits is turned as a whole when placed on the page (`fabella.figure.placing`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache

from fabella.figure.pen import Point
from fabella.figure.tables import body

MM = 1.75
"""Millimetres of a person of 1.75 m in a thousandth of stature."""


_FOOT_AXIS = 31.0  # below the ankle, so that it stays within the foot as far as the toes


@cache
def length(segment: str) -> float:
    """Return the length of a segment in thousandths of stature (Drillis and Contini 1966)."""
    return float(body()["length"][segment])


@dataclass(frozen=True, slots=True, kw_only=True)
class LegPose:
    """Angles of one leg in profile, in degrees; all 0 is standing straight.

    Parameters
    ----------
    hip_flexion_deg
        Thigh forwards of the trunk, -30 to 140.
    knee_flexion_deg
        -15 (recurvatum) to 155.
    ankle_flexion_deg
        Foot upwards of a right angle, -50 to 30.
    tibia_forwards_mm
        How far the tibia stands in front of its place beneath the femur, negative behind, -25 to 25.
    """

    hip_flexion_deg: float = 0.0
    knee_flexion_deg: float = 0.0
    ankle_flexion_deg: float = 0.0
    tibia_forwards_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A joint with the directions of its segment: ``along`` it, and ``forwards`` out of its front."""

    at: Point
    along: Point
    forwards: Point

    def place(self, along: float, forwards: float) -> Point:
        """Return the point so far along and in front of the segment."""
        return (
            self.at[0] + along * self.along[0] + forwards * self.forwards[0],
            self.at[1] + along * self.along[1] + forwards * self.forwards[1],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """The frames of thigh, shank and foot of one leg; the foot's runs from the ankle towards the toes."""

    pose: LegPose
    knee: Point
    thigh: Frame
    shank: Frame
    foot: Frame

    def segment(self, name: str) -> tuple[Frame, float]:
        """Return frame and length of ``thigh``, ``shank`` or ``foot``; the foot's axis runs low in it."""
        if name == "foot":
            return replace(self.foot, at=self.foot.place(0.0, -_FOOT_AXIS)), length(name)
        return (self.thigh if name == "thigh" else self.shank), length(name)


def frame_at(at: Point, angle_deg: float) -> Frame:
    """Return the frame of a segment that is turned forwards from hanging down by an angle."""
    turn = math.radians(angle_deg)
    return Frame(at=at, along=(math.sin(turn), math.cos(turn)), forwards=(math.cos(turn), -math.sin(turn)))


def build_leg(pose: LegPose, *, hip: Point = (0.0, 0.0)) -> Leg:
    """Return the frames of a leg in a pose, its hip at a point."""
    thigh = frame_at(hip, pose.hip_flexion_deg)
    knee = thigh.place(length("thigh"), 0.0)
    hinged = frame_at(knee, pose.hip_flexion_deg - pose.knee_flexion_deg)
    shank = replace(hinged, at=hinged.place(0.0, pose.tibia_forwards_mm / MM))
    sole_deg = pose.hip_flexion_deg - pose.knee_flexion_deg + pose.ankle_flexion_deg
    down = frame_at(shank.place(length("shank"), 0.0), sole_deg)
    foot = Frame(at=down.at, along=down.forwards, forwards=(-down.along[0], -down.along[1]))
    return Leg(pose=pose, knee=knee, thigh=thigh, shank=shank, foot=foot)
