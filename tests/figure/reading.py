"""Reading a drawing back: the points of its paths, and the turn between two outlines or two bones."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

import numpy as np

from fabella.figure.pose import Leg

Point = tuple[float, float]

_TOKEN = re.compile(r"[MclsZ]|-?\d+")
_TAKES = {"M": 2, "l": 2, "c": 6, "s": 4}


def path_points(data: str) -> list[list[Point]]:
    """The knots of each run of path data, written with the commands M, l, c, s and Z."""
    tokens = iter(_TOKEN.findall(data))
    runs: list[list[Point]] = []
    command = ""
    for each in tokens:
        if each == "Z":
            continue
        first = None
        if each in _TAKES:
            command = each
        else:
            first = float(each)
        numbers = [first] if first is not None else []
        numbers += [float(next(tokens)) for _ in range(_TAKES[command] - len(numbers))]
        if command == "M":
            runs.append([(numbers[0], numbers[1])])
        else:
            x, y = runs[-1][-1]
            runs[-1].append((x + numbers[-2], y + numbers[-1]))
    return runs


def segments(data: str) -> Iterator[tuple[Point, Point, Point, Point]]:
    """The Bézier segments of one curve, handles left out by "s" put back as SVG puts them back."""
    tokens = iter(_TOKEN.findall(data))
    pen, handle = (0.0, 0.0), (0.0, 0.0)
    for command in tokens:
        if command == "Z":
            continue
        numbers = [float(next(tokens)) for _ in range(_TAKES[command])]
        if command == "M":
            pen = handle = (numbers[0], numbers[1])
            continue
        if command == "s":
            numbers = [pen[0] - handle[0], pen[1] - handle[1], *numbers]
        first, second, stop = (
            (pen[0] + numbers[each], pen[1] + numbers[each + 1]) for each in range(0, 6, 2)
        )
        yield pen, first, second, stop
        handle, pen = (second[0], second[1]), stop


def turn_deg(before: Sequence[Point], after: Sequence[Point]) -> float:
    """The rotation in degrees that best takes one outline to another (Kabsch 1976, in the plane)."""
    a, b = (np.asarray(points) - np.mean(points, axis=0) for points in (before, after))
    cross, dot = np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.sum(a * b)
    return float(np.degrees(np.arctan2(cross, dot)))


def knee_deg(leg: Leg) -> float:
    """The flexion of a knee, from the joint centres of hip, knee and ankle."""
    hip, ankle = leg.thigh.at, leg.foot.at
    thigh = math.atan2(leg.knee[0] - hip[0], leg.knee[1] - hip[1])
    shank = math.atan2(ankle[0] - leg.shank.at[0], ankle[1] - leg.shank.at[1])
    return (math.degrees(thigh - shank) + 180) % 360 - 180
