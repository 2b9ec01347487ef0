"""The skin of one leg in profile: its contour from widths along the segments, smooth round a bent knee."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fabella.figure.pen import Point
from fabella.figure.pose import Frame, Leg, frame_at, length
from fabella.figure.tables import body


@dataclass(frozen=True, slots=True, kw_only=True)
class LegLines:
    """The contour of a leg: one line from the groin round the foot to the buttock, and its parts."""

    front: tuple[Point, ...]
    knee: tuple[Point, ...]
    shin: tuple[Point, ...]
    foot: tuple[Point, ...]
    calf: tuple[Point, ...]
    back: tuple[Point, ...]

    @property
    def outline(self) -> tuple[Point, ...]:
        """The whole contour, open at the hip."""
        return (*self.front, *self.knee, *self.shin, *self.foot, *self.calf, *self.back)


def leg_lines(leg: Leg) -> LegLines:
    """Return the contour of a leg in its pose, from the groin round the foot to the buttock."""
    widths = body()["side"]
    back, calf = _behind(leg)
    return LegLines(
        front=_front_of_thigh(leg, _along(leg.thigh, "thigh", widths["thigh"]["front"], 1)),
        knee=(_groove(leg), *patella(leg), leg.shank.place(*widths["knee"]["tubercle"])),
        shin=_along(leg.shank, "shank", widths["shank"]["front"], 1),
        foot=tuple(
            leg.foot.place(x, -y) for part in ("top", "sole", "heel") for x, y in widths["foot"][part]
        ),
        calf=calf[::-1],
        back=(_hollow(leg), *back[::-1]),
    )


def patella(leg: Leg) -> tuple[Point, Point, Point]:
    """Return the upper pole, the middle and the lower pole of the patella on the skin."""
    knee = body()["side"]["knee"]
    half, out = knee["patella_half"], _bending(leg, knee["patella_out"])
    middle = _round_knee(leg, _patella_deg(leg), out + 1.5)
    face = frame_at(middle, leg.pose.hip_flexion_deg - knee["patella_turn"][1] * leg.pose.knee_flexion_deg)
    return face.place(-half, -2.0), middle, face.place(half, -3.0)


def _groove(leg: Leg) -> Point:
    """The front of the femur above the patella, which comes to light as the knee bends."""
    knee = body()["side"]["knee"]
    turn = _patella_deg(leg) + _bending(leg, knee["groove_turn"])
    return _round_knee(leg, turn, _bending(leg, knee["groove_out"]))


def _patella_deg(leg: Leg) -> float:
    start, share = body()["side"]["knee"]["patella_turn"]
    return float(start + share * leg.pose.knee_flexion_deg)


def _bending(leg: Leg, ends: Sequence[float]) -> float:
    """A measure that changes from a straight knee to a right angle and then stays."""
    bent = min(max(leg.pose.knee_flexion_deg / 90, 0.0), 1.0)
    return ends[0] + bent * (ends[1] - ends[0])


def _round_knee(leg: Leg, turn_deg: float, out: float) -> Point:
    """The point ``out`` from the centre of the knee, turned from the front of the thigh towards the shin."""
    turn = math.radians(turn_deg)
    return leg.thigh.place(length("thigh") + out * math.sin(turn), out * math.cos(turn))


def _along(frame: Frame, segment: str, widths: Iterable[Sequence[float]], side: int) -> tuple[Point, ...]:
    return tuple(frame.place(share * length(segment), side * width) for share, width in widths)


def _front_of_thigh(leg: Leg, points: tuple[Point, ...]) -> tuple[Point, ...]:
    """The front of the thigh as far as the groin: what would cross into the belly stops at the fold."""
    half = math.radians(leg.pose.hip_flexion_deg / 2)
    across = (
        math.sin(half),
        math.cos(half),
    )  # from the line half way between belly and thigh towards the thigh
    return kept_to(points, leg.thigh.at, across)


def _behind(leg: Leg) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """Back of the thigh and calf; where they would cross when the knee is bent they lie on each other."""
    widths = body()["side"]
    thigh = _along(leg.thigh, "thigh", widths["thigh"]["back"], -1)
    calf = _along(leg.shank, "shank", widths["shank"]["back"], -1)
    _, across = _fold(leg)
    back = (-across[0], -across[1])
    return kept_to(thigh, leg.knee, back), kept_to(calf, leg.knee, across)


def _fold(leg: Leg) -> tuple[Point, Point]:
    """The direction of the hollow of the knee, and the one across it towards the shank."""
    half = math.radians(leg.pose.hip_flexion_deg - leg.pose.knee_flexion_deg / 2)
    return (-math.cos(half), math.sin(half)), (math.sin(half), math.cos(half))


def _hollow(leg: Leg) -> Point:
    fold, _ = _fold(leg)
    deep = body()["side"]["knee"]["hollow"] - 0.09 * max(leg.pose.knee_flexion_deg, 0.0)
    return (leg.knee[0] + fold[0] * deep, leg.knee[1] + fold[1] * deep)


def kept_to(points: Iterable[Point], at: Point, across: Point) -> tuple[Point, ...]:
    """Return points on one side of a fold through a point; those beyond it are moved onto it."""
    kept = []
    for x, y in points:
        over = (x - at[0]) * across[0] + (y - at[1]) * across[1]
        kept.append((x - over * across[0], y - over * across[1]) if over < 0 else (x, y))
    return tuple(kept)
