"""Lines as a pen draws them: smooth, swelling and thinning, and shaded by hatching."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

Point = tuple[float, float]
Place = Callable[[Point], Point]

_TAPER = 0.25  # how much of a stroke's weight is left at its ends


def number(value: float) -> str:
    """Return a coordinate to a hundredth, without idle zeros."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _pairs(*points: Point) -> str:
    text = " ".join(f"{number(x)} {number(y)}" for x, y in points)
    return text.replace(" -", "-")


def _run(segments: Sequence[tuple[Point, Point, Point, Point]]) -> str:
    """Path commands of joined segments, relative to a pen on hundredths, so that no error adds up."""
    pen = _snapped(segments[0][0])
    commands = []
    for _, first, second, end in segments:
        stop = _snapped(end)
        commands.append("c" + _pairs(*((x - pen[0], y - pen[1]) for x, y in (first, second, stop))))
        pen = stop
    return "".join(commands)


def _snapped(point: Point) -> Point:
    return (round(point[0], 2), round(point[1], 2))


def _segments(points: Sequence[Point], *, closed: bool) -> list[tuple[Point, Point, Point, Point]]:
    """Bézier segments of the Catmull-Rom curve through the points (Catmull and Rom 1974, uniform)."""
    ring = list(points)
    before, after = (ring[-1], ring[0]) if closed else (ring[0], ring[-1])
    padded = [before, *ring, after, *([ring[1]] if closed else [])]
    segments = []
    for p0, p1, p2, p3 in zip(padded, padded[1:], padded[2:], padded[3:], strict=False):
        first = (p1[0] + (p2[0] - p0[0]) / 6, p1[1] + (p2[1] - p0[1]) / 6)
        second = (p2[0] - (p3[0] - p1[0]) / 6, p2[1] - (p3[1] - p1[1]) / 6)
        segments.append((p1, first, second, p2))
    return segments


def smooth(points: Sequence[Point], *, closed: bool = False) -> str:
    """Return the path of a smooth curve through the points.

    Parameters
    ----------
    points
        At least two, in millimetres of the page.
    closed
        Whether the last point runs on into the first.
    """
    segments = _segments(points, closed=closed)
    return f"M{_pairs(segments[0][0])}{_run(segments)}{'Z' if closed else ''}"


def sample(points: Sequence[Point], *, each: int = 12, closed: bool = False) -> tuple[Point, ...]:
    """Return the same curve as many points, ``each`` of them a segment, ends included."""
    found = [points[0]]
    for p0, p1, p2, p3 in _segments(points, closed=closed):
        for step in range(1, each + 1):
            t = step / each
            u = 1 - t
            a, b, c, d = u**3, 3 * u * u * t, 3 * u * t * t, t**3
            found.append(
                (
                    a * p0[0] + b * p1[0] + c * p2[0] + d * p3[0],
                    a * p0[1] + b * p1[1] + c * p2[1] + d * p3[1],
                )
            )
    return tuple(found)


def _normals(points: Sequence[Point]) -> list[Point]:
    """Unit normals, to the right of the direction of drawing."""
    normals = []
    for index in range(len(points)):
        (x0, y0), (x1, y1) = points[max(index - 1, 0)], points[min(index + 1, len(points) - 1)]
        length = math.hypot(x1 - x0, y1 - y0) or 1.0
        normals.append((-(y1 - y0) / length, (x1 - x0) / length))
    return normals


def ink(points: Sequence[Point], *, weight: float) -> str:
    """Return a pen stroke as a filled outline that swells in its middle and thins out at both ends.

    Parameters
    ----------
    points
        At least two, in millimetres of the page.
    weight
        Width of the stroke at its fullest, in millimetres.
    """
    knots = sample(points, each=2)
    last = len(knots) - 1
    right, left = [], []
    for index, ((x, y), (nx, ny)) in enumerate(zip(knots, _normals(knots), strict=True)):
        swell = _TAPER + (1 - _TAPER) * math.sin(math.pi * index / last) ** 0.6
        half = weight * swell / 2
        right.append((x + nx * half, y + ny * half))
        left.append((x - nx * half, y - ny * half))
    there, back = _segments(right, closed=False), _segments(left[::-1], closed=False)
    return f"M{_pairs(right[0])}{_run(there)}L{_pairs(left[-1])}{_run(back)}Z"


def hatch(edge: Sequence[Point], *, depth: float, spacing: float, slant_deg: float) -> str:
    """Return shading: fine lines that leave an edge, longest at its middle.

    Parameters
    ----------
    edge
        The edge to shade, at least two points in millimetres.
    depth
        Length of the longest line in millimetres; negative shades the other flank.
    spacing
        Distance between lines along the edge in millimetres, above 0.
    slant_deg
        Turn of the lines away from the normal, in degrees.
    """
    line = sample(edge)
    run = [0.0]
    for (x0, y0), (x1, y1) in pairwise(line):
        run.append(run[-1] + math.hypot(x1 - x0, y1 - y0))
    count = int(run[-1] / spacing)
    normals = _normals(line)
    turn = math.radians(slant_deg)
    strokes = []
    position = 0
    for step in range(1, count):
        while run[position] < step * spacing:
            position += 1
        (x, y), (nx, ny) = line[position], normals[position]
        jitter = 0.82 + 0.18 * math.sin(step * 2.4)  # a hand never draws two lines alike
        length = depth * jitter * math.sin(math.pi * step / count) ** 0.5
        dx = nx * math.cos(turn) - ny * math.sin(turn)
        dy = nx * math.sin(turn) + ny * math.cos(turn)
        end = (x + dx * length, y + dy * length)
        middle = (x + dx * length * 0.5 - dy * length * 0.08, y + dy * length * 0.5 + dx * length * 0.08)
        strokes.append(
            f"M{_pairs((x, y))}q{_pairs((middle[0] - x, middle[1] - y), (end[0] - x, end[1] - y))}"
        )
    return "".join(strokes)


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
