"""Lines as a pen draws them, written as short paths: curves, strokes that swell and thin out, hatching."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

Point = tuple[float, float]

_EVEN = 1.7  # knots whose neighbours are this much further on one side need handles of two lengths
_TAPER = 0.2  # how much of a stroke's weight is left at its ends


def number(value: float, *, digits: int = 0) -> str:
    """Return a coordinate to so many decimal places, without idle zeros."""
    text = f"{value:.{digits}f}"
    if digits:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def pairs(*points: Point, digits: int = 0) -> str:
    """Return points as path data, as short as they may be written."""
    text = " ".join(f"{number(x, digits=digits)} {number(y, digits=digits)}" for x, y in points)
    return text.replace(" -", "-")


def sample(points: Sequence[Point], *, each: int = 8) -> tuple[Point, ...]:
    """Return the smooth curve through points as many points, ``each`` of them a segment, ends included."""
    found = [points[0]]
    for p0, p1, p2, p3 in _windows(points, closed=False):
        for step in range(1, each + 1):
            t = step / each
            found.append((_between(t, p0[0], p1[0], p2[0], p3[0]), _between(t, p0[1], p1[1], p2[1], p3[1])))
    return tuple(found)


def _between(t: float, v0: float, v1: float, v2: float, v3: float) -> float:
    """One coordinate of the curve of Catmull and Rom (1974, uniform)."""
    cubic, square = 3 * (v1 - v2) + v3 - v0, 2 * v0 - 5 * v1 + 4 * v2 - v3
    return v1 + 0.5 * t * (v2 - v0 + t * (square + t * cubic))


def _windows(points: Sequence[Point], *, closed: bool) -> list[tuple[Point, Point, Point, Point]]:
    ring = list(points)
    padded = [ring[-1], *ring, ring[0], ring[1]] if closed else [ring[0], *ring, ring[-1]]
    return list(zip(padded, padded[1:], padded[2:], padded[3:], strict=False))


def curve(
    points: Sequence[Point],
    *,
    closed: bool = False,
    onwards: bool = False,
    digits: int = 0,
    steady: bool = False,
) -> str:
    """Return the path of a smooth curve through the points.

    Parameters
    ----------
    points
        At least two, in units of the page.
    closed
        Whether the last point runs on into the first.
    onwards
        Whether the pen already stands at the first point.
    digits
        Decimal places of the coordinates.
    steady
        Whether as many points always make the same commands, so that two curves can be blended.
    """
    pen = _snapped(points[0], digits)
    commands = ["" if onwards else f"M{pairs(pen, digits=digits)}"]
    mirrored = False  # whether the handle into the present knot also leads out of it
    for p0, p1, p2, p3 in _windows(points, closed=closed):
        (out, _), (_, into) = _handles(p0, p1, p2), _handles(p1, p2, p3)
        stop = _snapped(p2, digits)
        turned = [
            (p1[0] + out[0] - pen[0], p1[1] + out[1] - pen[1]),
            (p2[0] - into[0] - pen[0], p2[1] - into[1] - pen[1]),
            (stop[0] - pen[0], stop[1] - pen[1]),
        ]
        commands.append(
            f"s{pairs(*turned[1:], digits=digits)}" if mirrored else f"c{pairs(*turned, digits=digits)}"
        )
        mirrored = not steady and _is_even(p1, p2, p3)
        pen = stop
    return "".join(commands) + ("Z" if closed else "")


def _is_even(p0: Point, p1: Point, p2: Point) -> bool:
    before, after = math.dist(p0, p1), math.dist(p1, p2)
    return 0.0 in {before, after} or max(before, after) < _EVEN * min(before, after)


def _handles(p0: Point, p1: Point, p2: Point) -> tuple[Point, Point]:
    """The handles out of and into a knot: those of Catmull and Rom, shortened towards a near neighbour."""
    x, y = (p2[0] - p0[0]) / 6, (p2[1] - p0[1]) / 6
    if _is_even(p0, p1, p2):
        return (x, y), (x, y)
    before, after = math.dist(p0, p1), math.dist(p1, p2)
    # The tangent of a parabola through the three points, as long as a third of each way.
    share = before / (before + after)
    dx, dy = (
        ((1 - share) * (p1[axis] - p0[axis]) / before + share * (p2[axis] - p1[axis]) / after) / 3
        for axis in (0, 1)
    )
    return (dx * after, dy * after), (dx * before, dy * before)


def _snapped(point: Point, digits: int = 0) -> Point:
    return (round(point[0], digits), round(point[1], digits))


def chain(points: Sequence[Point], *, closed: bool = False) -> str:
    """Return the path of straight lines from point to point."""
    pen = _snapped(points[0])
    commands = [f"M{pairs(pen)}"]
    for point in points[1:]:
        stop = _snapped(point)
        commands.append(f"l{pairs((stop[0] - pen[0], stop[1] - pen[1]))}")
        pen = stop
    return "".join(commands) + ("Z" if closed else "")


def normals(points: Sequence[Point]) -> tuple[Point, ...]:
    """Return unit normals, to the right of the direction of drawing as seen on the page."""
    found = []
    for index in range(len(points)):
        (x0, y0), (x1, y1) = points[max(index - 1, 0)], points[min(index + 1, len(points) - 1)]
        length = math.hypot(x1 - x0, y1 - y0) or 1.0
        found.append((-(y1 - y0) / length, (x1 - x0) / length))
    return tuple(found)


def ink(points: Sequence[Point], *, weight: float, digits: int = 0, steady: bool = False) -> str:
    """Return a pen stroke as a filled outline that swells in its middle and thins out at both ends.

    Parameters
    ----------
    points
        At least two, in units of the page.
    weight
        Width of the stroke at its fullest, in units of the page.
    digits
        Decimal places of the coordinates.
    steady
        As for `curve`.
    """
    knots = sample(points, each=3) if len(points) == 2 else tuple(points)  # noqa: PLR2004 - a straight line
    last = len(knots) - 1
    right, left = [], []
    for index, ((x, y), (nx, ny)) in enumerate(zip(knots, normals(knots), strict=True)):
        half = weight / 2 * (_TAPER + (1 - _TAPER) * math.sin(math.pi * index / last) ** 0.6)
        right.append((x + nx * half, y + ny * half))
        left.append((x - nx * half, y - ny * half))
    back = left[::-1]
    there, start = _snapped(right[-1], digits), _snapped(back[0], digits)
    join = f"l{pairs((start[0] - there[0], start[1] - there[1]), digits=digits)}"
    there_and_back = (
        curve(right, digits=digits, steady=steady),
        join,
        curve(back, onwards=True, digits=digits, steady=steady),
    )
    return "".join(there_and_back) + "Z"


def hatch(
    edge: Sequence[Point], *, depth: float, spacing: float, slant_deg: float = 24.0, digits: int = 0
) -> str:
    """Return shading: fine lines that leave an edge to its right, longest at its middle.

    Parameters
    ----------
    edge
        The edge to shade, at least two points in units of the page.
    depth
        Length of the longest line; negative shades the other flank.
    spacing
        Distance between lines along the edge, above 0.
    slant_deg
        Turn of the lines away from the normal, in degrees.
    digits
        Decimal places of the coordinates.
    """
    line = sample(edge)
    run = [0.0]
    for (x0, y0), (x1, y1) in pairwise(line):
        run.append(run[-1] + math.hypot(x1 - x0, y1 - y0))
    count = int(run[-1] / spacing)
    across = normals(line)
    turn = math.radians(slant_deg)
    strokes, position = [], 0
    for step in range(1, count):
        while run[position] < step * spacing:
            position += 1
        (x, y), (nx, ny) = line[position], across[position]
        uneven = 0.82 + 0.18 * math.sin(step * 2.4)  # a hand never draws two lines alike
        length = depth * uneven * math.sin(math.pi * step / count) ** 0.5
        dx = (nx * math.cos(turn) - ny * math.sin(turn)) * length
        dy = (nx * math.sin(turn) + ny * math.cos(turn)) * length
        strokes.append(f"M{pairs((x, y), digits=digits)}l{pairs((dx, dy), digits=digits)}")
    return "".join(strokes)
