"""The pen of the plate: that of the figure, in millimetres of a printed page, to a hundredth."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.figure import pen
from fabella.figure.pen import Point

__all__ = ["Point", "fibres", "hatch", "ink", "number", "sample", "smooth"]

_DIGITS = 2


def number(value: float) -> str:
    """Return a coordinate to a hundredth, without idle zeros."""
    return pen.number(value, digits=_DIGITS)


def smooth(points: Sequence[Point], *, closed: bool = False) -> str:
    """Return the path of a smooth curve through points; ``closed`` runs on from the last into the first."""
    return pen.curve(points, closed=closed, digits=_DIGITS)


def sample(points: Sequence[Point]) -> tuple[Point, ...]:
    """Return the same curve as many points, ends included."""
    return pen.sample(points, each=12)


def ink(points: Sequence[Point], *, weight: float) -> str:
    """Return a pen stroke that swells in its middle to ``weight`` millimetres and thins out at both ends."""
    return pen.ink(pen.sample(points, each=2), weight=weight, digits=_DIGITS)


def hatch(edge: Sequence[Point], *, depth: float, spacing: float, slant_deg: float) -> str:
    """Return shading: fine lines that leave an edge, longest at its middle; lengths in millimetres."""
    return pen.hatch(edge, depth=depth, spacing=spacing, slant_deg=slant_deg, digits=_DIGITS)


def fibres(first: Sequence[Point], last: Sequence[Point], *, count: int) -> str:
    """Return ``count`` fine lines that pass over from a first curve into a last one with as many points."""
    lines = []
    for index in range(count):
        share = index / (count - 1)
        between = [
            (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share)
            for (x0, y0), (x1, y1) in zip(first, last, strict=True)
        ]
        lines.append(smooth(between))
    return "".join(lines)
