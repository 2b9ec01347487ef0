"""Points as they are given to ``fabella measure``: on the command line, or in a file ``fabella.points/1``."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fabella.anatomy import Side
from fabella.cli.intake import paths_of
from fabella.cli.whole_file import text_of
from fabella.errors import InputError, Problem, UsageError
from fabella.measure import Point

FORMAT = "fabella.points/1"
_KEYS = ("format", "view", "side", "mirrored", "points")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is to be measured; an empty view and no side were not told."""

    view: str
    side: Side | None
    points: Mapping[str, Point]
    mirrored: bool


def points_given(given: Iterable[str]) -> dict[str, Point]:
    """Return the points of ``--point NAME=X,Y``; raise `UsageError` for one that is not written so."""
    points: dict[str, Point] = {}
    for each in given:
        name, _, place = each.partition("=")
        numbers = [_number(part) for part in place.split(",")]
        if not name.strip() or len(numbers) != len(Point._fields) or None in numbers:
            raise UsageError(f"--point {each}: write LANDMARK=X,Y in pixels, such as patella=512,388")
        if name.strip() in points:
            raise UsageError(f"--point {each}: {name.strip()} is placed twice")
        points[name.strip()] = Point(*(number for number in numbers if number is not None))
    return points


def points_file(path: Path) -> Asked:
    """Return what a file of points asks for.

    Raises
    ------
    InputError
        Listing everything in it that is not as it should be.
    UsageError
        When it cannot be read.
    """
    paths_of([str(path)])
    try:
        tree = json.loads(text_of(path))
    except (ValueError, RecursionError):
        tree = None
    if not isinstance(tree, dict) or tree.get("format") != FORMAT:
        remedy = f'write {{"format": "{FORMAT}", "view": …, "side": …, "points": {{"patella": [512, 388]}}}}'
        raise InputError([Problem(place=str(path), value="", says="is no file of points", remedy=remedy)])
    problems = tuple(_problems(tree))
    if problems:
        raise InputError(problems)
    return Asked(
        view=tree.get("view", ""),
        side=Side(tree["side"]) if "side" in tree else None,
        points={name: Point(*map(float, place)) for name, place in tree.get("points", {}).items()},
        mirrored=tree.get("mirrored", False),
    )


def _problems(tree: Mapping[str, Any]) -> Iterable[Problem]:
    for key in tree:
        if key not in _KEYS:
            yield Problem(place=key, value="", says="is not known", remedy=f"allowed: {', '.join(_KEYS)}")
    if not isinstance(tree.get("view", ""), str):
        yield Problem(place="view", value="", says="is no text", remedy='write it as "bent_knee"')
    if "side" in tree and tree["side"] not in tuple(Side):
        yield Problem(place="side", value=str(tree["side"]), says="is no side", remedy="use right or left")
    if not isinstance(tree.get("mirrored", False), bool):
        yield Problem(
            place="mirrored", value="", says="is neither true nor false", remedy="use true or false"
        )
    points = tree.get("points", {})
    if not isinstance(points, dict):
        yield Problem(
            place="points", value="", says="names no landmarks", remedy='write {"patella": [512, 388]}'
        )
        return
    for name, place in points.items():
        if not (isinstance(place, list) and len(place) == len(Point._fields) and all(map(_is_number, place))):
            yield Problem(
                place=f"points.{name}", value="", says="is no place in pixels", remedy="write [512, 388]"
            )


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < math.inf


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
