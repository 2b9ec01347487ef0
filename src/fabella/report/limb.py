"""One limb as drawn: its outlines placed on the page, bent at the knee by the measured angle."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from fabella.anatomy import Side
from fabella.figure import knee_outline
from fabella.report.curves import Point, fibres, hatch, ink, sample, smooth

USUAL_ANGLE_DEG = 6.0
"""Valgus angle between the shafts in the outline, drawn when none was measured (common practice)."""

_SCALE = 0.87  # page millimetres a unit of the outline
_BENT_BY = 13.0  # below the joint line the bend grows to its full angle over this many units
_TOP, _BOTTOM = -38.0, 38.0  # first and last line of the outline that is shown


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """Where and how a limb stands on the page.

    Parameters
    ----------
    side
        The patient's own side; the lateral side of a right knee is on the left of the page.
    x_mm, y_mm
        Middle of the joint line on the page.
    angle_deg
        Angle between the shafts of femur and tibia, valgus positive, -40 to 40.
    patella_up
        How far the patella rides above its usual place, in units of the outline; negative is low.
    """

    side: Side
    x_mm: float
    y_mm: float
    angle_deg: float = USUAL_ANGLE_DEG
    patella_up: float = 0.0

    def place(self, point: Point) -> Point:
        """Return the point of the page for a point of the outline (x lateral, y towards the foot)."""
        x, y = point
        grown = min(max(y / _BENT_BY, 0.0), 1.0)
        turn = math.radians(self.angle_deg - USUAL_ANGLE_DEG) * grown * grown * (3 - 2 * grown)
        along, across = (
            x * math.cos(turn) + y * math.sin(turn),
            y * math.cos(turn) - x * math.sin(turn),
        )
        return (self.x_mm + lateral_sign(self.side) * _SCALE * along, self.y_mm + _SCALE * across)

    def places(self, points: Sequence[Sequence[float]], *, up: float = 0.0) -> tuple[Point, ...]:
        """Return the points of the page for many points, moved ``up`` units of the outline first."""
        return tuple(self.place((point[0], point[1] - up)) for point in points)

    @property
    def femoral_axis(self) -> tuple[Point, Point]:
        """The axis of the femoral shaft, from above to the middle of the joint."""
        lean = math.tan(math.radians(USUAL_ANGLE_DEG))
        return self.place((-lean * _TOP, _TOP)), self.place((0, 0))

    @property
    def tibial_axis(self) -> tuple[Point, Point]:
        """The axis of the tibial shaft, from where the bend ends downwards."""
        return self.place((0, _BENT_BY)), self.place((0, _BOTTOM))


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One path to print: what it shows, its path, its tone, the width of its outline (0 when filled only)."""

    name: str
    path: str
    tone: str
    width: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Limb:
    """Everything printed for one limb, in the order of printing; ``front`` is the patella."""

    skin: str
    behind: tuple[Line, ...]
    front: tuple[Line, ...]


def lateral_sign(side: Side) -> int:
    """Return -1 when the lateral side is on the left of the page (a right knee), else 1."""
    return -1 if side is Side.RIGHT else 1


def skin_edge(pose: Pose, *, lateral: bool) -> tuple[Point, ...]:
    """Return the contour of the skin on one flank as many points of the page, from above down."""
    points = knee_outline()["skin"]["lateral" if lateral else "medial"]
    return sample(pose.places(points))


@lru_cache(maxsize=32)
def draw_limb(pose: Pose) -> Limb:
    """Return the paths of one limb in the given pose."""
    outline = knee_outline()
    lateral = pose.places(outline["skin"]["lateral"])
    medial = pose.places(outline["skin"]["medial"])
    shapes = [
        Line(
            name=shape["name"],
            path=smooth(_placed(pose, shape, "points"), closed=True),
            tone=shape.get("tone", "bone"),
            width=shape["weight"],
        )
        for shape in outline["shape"]
    ]
    behind = (
        *_layer(pose, "under"),
        *(shape for shape in shapes[:-1] if shape.tone == "bone"),
        *_layer(pose, "bone"),
        *(shape for shape in shapes[:-1] if shape.tone != "bone"),
        *_layer(pose, "over"),
        Line(name="skin", path=ink(lateral, weight=0.42), tone="ink"),
        Line(name="skin", path=ink(medial, weight=0.42), tone="ink"),
    )
    front = (shapes[-1], *_layer(pose, "front"))
    return Limb(skin=smooth(lateral) + "L" + smooth(medial[::-1])[1:] + "Z", behind=behind, front=front)


def _layer(pose: Pose, layer: str) -> Iterator[Line]:
    """Shading, fibres and strokes of one layer."""
    outline = knee_outline()
    mirror = -1 if pose.side is Side.LEFT else 1
    for shade in outline["hatch"]:
        if shade.get("layer", "bone") == layer:
            edge = _placed(pose, shade, "edge")
            path = hatch(
                edge,
                depth=shade["depth"] * _SCALE * mirror,
                spacing=shade["spacing"],
                slant_deg=shade["slant"] * mirror,
            )
            yield Line(name="shading", path=path, tone="hatch")
    for family in outline["fibres"]:
        if family["layer"] == layer:
            path = fibres(
                _placed(pose, family, "first"), _placed(pose, family, "last"), count=family["count"]
            )
            yield Line(
                name=f"{family['name']}, fibres",
                path=path,
                tone="soft hatch" if layer == "under" else "hatch",
            )
    for stroke in outline["stroke"]:
        if stroke["layer"] == layer:
            path = ink(_placed(pose, stroke, "points"), weight=stroke["weight"])
            yield Line(name=stroke["name"], path=path, tone="soft" if layer == "under" else "ink")


def _placed(pose: Pose, item: dict[str, Any], key: str) -> tuple[Point, ...]:
    """The points of an item on the page; what follows the patella rides up and down with it."""
    follows = item.get("follows")
    if follows == "tendon":  # its upper end is fixed to the patella, its lower end to the tibia
        return pose.places(
            [(x, y - pose.patella_up * min(max((8 - y) / 12, 0.0), 1.0)) for x, y in item[key]]
        )
    return pose.places(item[key], up=pose.patella_up if follows == "patella" else 0.0)
