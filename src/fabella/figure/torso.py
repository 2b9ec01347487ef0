"""Trunk, head and arms in profile."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fabella.figure.leg import kept_to, leg_lines
from fabella.figure.pen import Point
from fabella.figure.pose import Frame, Leg, frame_at, length
from fabella.figure.tables import body

_WAIST = 0.6  # where the trunk is left off, as a share of the way from hip to shoulder
_BEYOND = 620.0
_FOLDED_DEG = 25.0  # flexion of the hip from which the buttock shows as a curve of its own


@dataclass(frozen=True, slots=True, kw_only=True)
class ArmPose:
    """Angles of one arm in profile, in degrees: upper arm forwards of hanging down, elbow."""

    shoulder_flexion_deg: float = 0.0
    elbow_flexion_deg: float = 8.0


def silhouette(leg: Leg, *, whole: bool) -> tuple[Point, ...]:
    """Return the contour of trunk and near leg in one line, from the throat round the foot to the nape.

    Parameters
    ----------
    leg
        The near leg; its hip is the trunk's.
    whole
        Whether the trunk reaches to the neck, or only to the waist.
    """
    trunk, height, lines = body()["side"]["trunk"], length("trunk"), leg_lines(leg)
    top = 9.0 if whole else _WAIST
    front = kept_to(
        ((out, -share * height) for share, out in trunk["front"][::-1] if share < top),
        (0.0, 0.0),
        *_groin(leg),
    )
    back = tuple((-out, -share * height) for share, out in trunk["back"][::-1] if share < top)
    if not whole:  # beyond every window, so that no end of the trunk is seen
        front, back = ((front[0][0], -_BEYOND), *front), (*back, (-55.0, -_BEYOND))
    return (*front, *lines.outline, *_seat(leg), *back)


def _groin(leg: Leg) -> tuple[Point]:
    """The direction across the fold between belly and thigh, towards the belly."""
    half = math.radians(leg.pose.hip_flexion_deg / 2)
    return ((-math.sin(half), -math.cos(half)),)


def _seat(leg: Leg) -> tuple[Point, ...]:
    """The buttock, between the back of the thigh and that of the trunk."""
    seat = body()["side"]["trunk"]["seat"]
    hip = leg.pose.hip_flexion_deg
    found = []
    for share in (0.7, 0.35):
        turn = math.radians(hip * share)
        found.append((-seat * math.cos(turn), seat * math.sin(turn)))
    return tuple(found) if hip > _FOLDED_DEG else ()


def head_line(*, bowed_deg: float = 0.0) -> tuple[Point, ...]:
    """Return the profile of the head from nape over vertex to throat, bowed forwards by an angle."""
    trunk = body()["side"]["trunk"]
    up, forth = trunk["head"]
    neck = (-6.0, -float(up) + 62)
    turned = frame_at(neck, bowed_deg)
    return tuple(turned.place(y - 62, x + forth + 6) for x, y in trunk["skull"])


def arm_line(pose: ArmPose, *, shoulder: Point | None = None) -> tuple[Point, ...]:
    """Return the contour of an arm from the front of the shoulder round the hand to its back."""
    if shoulder is None:
        share, forth = body()["side"]["trunk"]["shoulder"]
        shoulder = (forth, -share * length("trunk"))
    upper = frame_at(shoulder, pose.shoulder_flexion_deg)
    lower_deg = pose.shoulder_flexion_deg + pose.elbow_flexion_deg
    lower = frame_at(upper.place(length("arm"), 0), lower_deg)
    wrist = frame_at(lower.place(length("forearm"), 0), lower_deg)
    return (
        *_flank(upper, "arm", 1),
        *_flank(lower, "forearm", 1),
        *(wrist.place(along, out) for along, out in body()["side"]["palm"]["outline"]),
        *_flank(lower, "forearm", -1)[::-1],
        *_flank(upper, "arm", -1)[::-1],
    )


def sleeve(pose: ArmPose) -> tuple[Point, ...]:
    """Return the end of a long sleeve, across the wrist."""
    share, forth = body()["side"]["trunk"]["shoulder"]
    upper = frame_at((forth, -share * length("trunk")), pose.shoulder_flexion_deg)
    lower = frame_at(upper.place(length("arm"), 0), pose.shoulder_flexion_deg + pose.elbow_flexion_deg)
    return tuple(lower.place(0.9 * length("forearm") + sag, out) for sag, out in ((0, 13), (3, 0), (0, -13)))


def _flank(frame: Frame, segment: str, side: int) -> tuple[Point, ...]:
    widths = body()["side"][segment]["width"]
    return tuple(frame.place(share * length(segment), side * out) for share, out in widths)
