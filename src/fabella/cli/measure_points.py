"""Points as they are given to ``fabella measure``: on the command line, or in a file ``fabella.points/1``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from fabella.anatomy import Side
from fabella.cli.intake import name_of, paths_of, problems_at
from fabella.cli.whole_file import read_whole
from fabella.errors import InputError, Problem, Problems
from fabella.measure import VIEWS, Point, View, view_of
from fabella.measure.landing import problems_of_names
from fabella.record.jsontext import parse
from fabella.record.layout import LINE
from fabella.record.section import Notes, Section

FORMAT = "fabella.points/1"
MOST_PX = 1e9
"""No picture is as large, and a number of a thousand digits is no float."""
_KEYS = ("format", "view", "side", "mirrored", "points")


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a file of points says; an empty view and no side were not told."""

    view: str = ""
    side: Side | None = None
    points: Mapping[str, Point] = field(default_factory=dict)
    mirrored: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is to be measured, from options and a file, and everything that is wrong with either.

    ``view`` and ``side`` are None only where ``faults`` (of the options) or ``problems`` say why.
    """

    view: View | None
    side: Side | None
    points: Mapping[str, Point]
    mirrored: bool
    faults: tuple[str, ...]
    problems: tuple[Problem, ...]


def gathered(
    *, view: str | None, side: Side | None, given: Sequence[str], file: Path | None, mirrored: bool
) -> Asked:
    """Return what is to be measured, from options and a file that must not contradict each other.

    Raises
    ------
    UsageError
        When the file cannot be read.
    """
    points, misplaced = points_given(given)
    told, problems = Told(), Problems()
    if file is not None:
        try:
            told = points_file(file)
        except InputError as error:
            problems += error.problems
    unreadable = bool(problems)
    faults = (
        *misplaced,
        *_contradictions(view, side, points, told),
        *(() if unreadable else _missing(view or told.view, side or told.side)),
    )
    found = None
    if view or told.view:
        try:
            found = view_of(view or told.view)
        except InputError as error:
            problems += error.problems
    if found is not None and faults and not unreadable:
        written = {each.partition("=")[0].strip() for each in given}
        problems += problems_of_names(found, {*told.points, *written})
    return Asked(
        view=found,
        side=side or told.side,
        points={**told.points, **points},
        mirrored=mirrored or told.mirrored,
        faults=faults,
        problems=tuple(problems),
    )


def _contradictions(view: str | None, side: Side | None, points: Iterable[str], told: Told) -> Iterator[str]:
    """Yield what options say otherwise than the file, or once more."""
    for name, option, stands in (("--view", view, told.view), ("--side", side, told.side)):
        if option is not None and stands and option != stands:
            yield f"{name} {option}: the file of --points says {stands}; leave one of them out"
    for each in points:
        if each in told.points:
            yield f"--point {each}: stands in the file of --points, too; leave one of them out"


def _missing(view: str, side: Side | None) -> Iterator[str]:
    """Yield what neither an option nor the file says."""
    if not view:
        yield f"say with --view how the limb is pictured: {', '.join(each.id for each in VIEWS)}"
    if side is None:
        yield "say with --side whose side it is: right or left"


def points_given(given: Iterable[str]) -> tuple[dict[str, Point], tuple[str, ...]]:
    """Return the points of ``--point NAME=X,Y``, and what is wrong with how they are written."""
    points: dict[str, Point] = {}
    faults = []
    for each in given:
        name, _, place = (part.strip() for part in each.partition("="))
        numbers = [number for part in place.split(",") if (number := _number(part)) is not None]
        if not name or len(numbers) != len(Point._fields) or place.count(",") != len(numbers) - 1:
            faults.append(f"--point {each}: write LANDMARK=X,Y in pixels, such as patella=512,388")
        elif name in points:
            faults.append(f"--point {each}: {name} is placed twice")
        else:
            points[name] = Point(*numbers)
    return points, tuple(faults)


def points_file(path: Path) -> Told:
    """Return what a file of points asks for.

    Raises
    ------
    InputError
        Listing everything in it that is not as it should be.
    UsageError
        When it cannot be read.
    """
    paths_of([str(path)])
    notes = Notes()
    try:
        tree = parse(read_whole(path))
    except InputError as error:
        raise InputError(problems_at(error, name_of(path), None)) from None
    if not isinstance(tree, dict) or tree.get("format") != FORMAT:
        remedy = f'write {{"format": "{FORMAT}", "view": …, "side": …, "points": {{"patella": [512, 388]}}}}'
        raise InputError.of(place=str(path), says="is no file of points", remedy=remedy)
    top = Section(tree, place="", keys=_KEYS, notes=notes)
    told = Told(
        view=top.text("view", LINE) or "",
        side=top.choice("side", Side),
        points=dict(_points(top)),
        mirrored=top.boolean("mirrored") or False,
    )
    notes.problems.raise_any()
    return told


def _points(top: Section) -> Iterator[tuple[str, Point]]:
    if not top.given("points"):
        return
    section = Section(top.raw("points"), place="points", keys=None, notes=top.notes)
    for name in section:
        place = section.raw(name)
        if isinstance(place, list) and len(place) == len(Point._fields) and all(map(_is_number, place)):
            yield name, Point(*map(float, place))
        else:
            top.notes.add(section.at(name), place, "is no place in pixels", "write [512, 388]", missing=True)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= MOST_PX


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
