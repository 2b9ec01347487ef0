"""The leg from the front: its skin, bent at the knee by the angle of alignment, and the bones."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from fabella.figure.pen import Point
from fabella.figure.pose import MM
from fabella.figure.sheet import Item
from fabella.figure.tables import body, knee_outline

UNIT = 3.0 / MM
"""Thousandths of stature in a unit of the front view, which is 3 mm."""

_USUAL_DEG = 6.0  # valgus between the shafts in the outline, common practice
_BEND = 13.0  # below the joint line the bend grows to its full angle over so many units
_SHOWN = ("fibula", "femur", "tibia", "patella")


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontPose:
    """A leg from the front.

    Parameters
    ----------
    valgus_deg
        Angle between the shafts of femur and tibia, valgus positive, -40 to 40.
    opens_mm
        How far the joint opens on the flank to which it bends away, 0 to 20.
    knee
        Where the middle of the joint stands, in thousandths of stature.
    lateral
        -1 where the lateral side is on the left of the page, as in a right leg that faces the reader; else 1.
    """

    valgus_deg: float = _USUAL_DEG
    opens_mm: float = 0.0
    knee: Point = (0.0, 0.0)
    lateral: int = -1

    def place(self, point: Sequence[float]) -> Point:
        """Return where a point of the front view comes to stand."""
        x, y = point[0], point[1]
        grown = min(max(y / _BEND, 0.0), 1.0)
        turn = math.radians(self.valgus_deg - _USUAL_DEG) * grown * grown * (3 - 2 * grown)
        # The lower leg turns towards lateral in valgus; when the joint opens it hinges on the closed flank.
        across = x * math.cos(turn) + y * math.sin(turn)
        down = y * math.cos(turn) - x * math.sin(turn) + (self.opens_mm / 6 if y > 0 else 0.0)
        return self.knee[0] + self.lateral * across * UNIT, self.knee[1] + down * UNIT

    def places(self, points: Iterable[Sequence[float]]) -> tuple[Point, ...]:
        """Return where many points of the front view come to stand."""
        return tuple(self.place(point) for point in points)


def leg_contour(pose: FrontPose, *, each: int = 2) -> tuple[Point, ...]:
    """Return the contour of a whole leg from the front, from lateral round the foot to medial.

    Of the points round the knee every second is taken, or every ``each``: enough for a leg seen as a whole.
    """
    front, skin = body()["front"], knee_outline()["skin"]
    return pose.places(
        (
            *front["lateral_above"],
            *skin["lateral"][1:-1:each],
            *front["lateral_below"][:: each - 1],
            *front["foot"][:: each - 1],
            *front["medial_below"][:: each - 1][::-1],
            *skin["medial"][1:-1:each][::-1],
            *front["medial_above"][::-1],
        )
    )


def whole_leg(pose: FrontPose) -> Iterator[Item]:
    """Yield a leg from the front: skin, patella, toes."""
    contour = leg_contour(pose)
    yield Item(tone="skin", points=contour, weight=15)
    for line in (((-13.6, -0.6), (-9, 0.4), (-5, -0.8)), ((5, -0.8), (9, 0), (13, -0.8))):
        yield Item(tone="soft", points=pose.places([(x, y - 1.4) for x, y in line]), weight=10)
        yield Item(tone="soft", points=pose.places([(x, 1.6) for x, _ in line]), way="chain", weight=10)
    for flank in (contour[2:24], contour[-20:-2]):
        yield Item(tone="ink", points=flank[::2], way="ink", weight=26)
    yield Item(tone="line", points=_shape(pose, "patella"), way="closed", weight=10)
    for x, y in body()["front"]["toes"]:
        yield Item(tone="line", points=pose.places([(x, y), (x + 0.4, y + 5.5)]), way="chain", weight=8)


def knee_close(pose: FrontPose, *, whole: bool) -> Iterator[Item]:
    """Yield the knee from the front with its bones; ``whole`` with what is small."""
    skin, front = knee_outline()["skin"], body()["front"]
    lateral = pose.places((front["lateral_above"][-1], *skin["lateral"], front["lateral_below"][0]))
    medial = pose.places((front["medial_above"][-1], *skin["medial"], front["medial_below"][0]))
    yield Item(tone="skin", points=(*lateral, *medial[::-1]), weight=0)
    for name in _SHOWN[:-1]:
        yield Item(tone="bone", points=_shape(pose, name), way="closed", weight=10)
    if whole:
        yield from _small(pose)
    yield Item(tone="bone", points=_shape(pose, "patella"), way="closed", weight=14)
    for flank in (lateral, medial):
        yield Item(tone="ink", points=flank, way="ink", weight=30)


def _small(pose: FrontPose) -> Iterator[Item]:
    """Yield menisci, tubercles and the patellar tendon."""
    for name in ("medial meniscus", "lateral meniscus"):
        yield Item(tone="far", points=_shape(pose, name), way="closed", weight=7)
    for stroke in knee_outline()["stroke"]:
        if stroke["name"] in {"tibial tubercle", "Gerdy's tubercle"}:
            yield Item(tone="soft", points=pose.places(stroke["points"]), weight=12)
    yield Item(tone="soft", points=pose.places(_tendon(1)), weight=8)
    yield Item(tone="soft", points=pose.places(_tendon(-1)), weight=8)


def _tendon(side: int) -> list[tuple[float, float]]:
    """One edge of the patellar tendon."""
    return [(0.7 + side * 3.4, -6.0), (0.5 + side * 2.9, 3.0), (0.8 + side * 1.8, 10.5)]


def _shape(pose: FrontPose, name: str) -> tuple[Point, ...]:
    shape = next(each for each in knee_outline()["shape"] if each["name"] == name)
    return pose.places(shape["points"])
