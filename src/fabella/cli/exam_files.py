"""What `fabella exam` reads: marks, stations in any of their forms, rules, and who was invited."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from fabella.assess import (
    Blueprint,
    Marks,
    Roster,
    Rules,
    read_blueprint,
    read_item_table,
    read_marks,
    read_parquet_marks,
    read_rules,
)
from fabella.assess.parquet import MAGIC
from fabella.cli.whole_file import read_whole, text_of
from fabella.errors import InputError, Problem, Problems
from fabella.exam import Station, blueprint_of, read_station
from fabella.protocol import load_protocol

_Read = TypeVar("_Read")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stations:
    """The stations of an exam; ``worded`` are empty where only codes and maxima are known."""

    blueprint: Blueprint
    worded: tuple[Station, ...]


def read_stations(path: Path) -> Stations:
    """Return the stations in a folder of station files, one such file, a blueprint, or a table of items."""
    if path.is_dir():
        files = sorted(path.glob("*.json"))
        if not files:
            raise InputError.of(
                place=str(path), says="holds no station", remedy="use station files ending in .json"
            )
        return _worded(files)
    text = text_of(path)
    if path.suffix == ".csv":
        return Stations(blueprint=in_file(path, read_item_table, text), worded=())
    if '"fabella.station/' in text:
        return _worded([path])
    return Stations(blueprint=in_file(path, read_blueprint, text), worded=())


def read_exam(
    marks: Path, stations: Path, rules: Path | None, *, candidates: Path | None, examiners: Path | None
) -> tuple[Marks, Stations, Rules]:
    """Return what an exam consists of; `InputError` lists what is wrong with each file, all at once."""
    problems = Problems()
    found, chosen = None, None
    try:
        found = read_stations(stations)
    except InputError as error:
        problems += error.problems
    try:
        chosen = Rules() if rules is None else in_file(rules, read_rules, text_of(rules))
    except InputError as error:
        problems += error.problems
    read = None
    if found:
        try:
            roster = Roster(candidates=_names(candidates), examiners=_names(examiners))
        except InputError as error:
            raise InputError([*problems, *error.problems]) from None
        try:
            content = read_whole(marks)
            is_table = content.startswith(MAGIC) or marks.suffix == ".parquet"
            read = (read_parquet_marks if is_table else read_marks)(
                content, blueprint=found.blueprint, roster=roster
            )
        except InputError as error:
            problems += (_within(marks, each) for each in error.problems)
    if problems or found is None or chosen is None or read is None:
        raise InputError(problems)
    return read, found, chosen


def _worded(files: list[Path]) -> Stations:
    problems = Problems()
    worded: list[Station] = []
    for file in files:
        try:
            worded.append(
                in_file(file, lambda text: read_station(text, protocol=load_protocol()), text_of(file))
            )
        except InputError as error:
            problems += error.problems
    problems.raise_any()
    return Stations(blueprint=blueprint_of(worded), worded=tuple(worded))


def in_file(path: Path, read: Callable[[str], _Read], text: str) -> _Read:
    """Return what is read from the text of a file; what is wrong with it is said with the file's name."""
    try:
        return read(text)
    except InputError as error:
        raise InputError(_within(path, each) for each in error.problems) from None


def _within(path: Path, problem: Problem) -> Problem:
    return replace(problem, place=f"{path.name}, {problem.place}" if problem.place else path.name)


def _names(path: Path | None) -> tuple[str, ...] | None:
    """Return the names in a list, one a line, blank lines left out.

    Two people of one name cannot be told apart in the marks: `InputError` names each with its lines.
    """
    if path is None:
        return None
    lines: dict[str, list[int]] = {}
    for number, text in enumerate(text_of(path).removeprefix("\ufeff").splitlines(), start=1):
        if name := text.strip():
            lines.setdefault(name, []).append(number)
    remedy = "two people of one name need a number or another letter each, here and in the marks"
    twice = Problems()
    for name, at in lines.items():
        if len(at) > 1:
            place = f"{path.name}, lines {', '.join(map(str, at))}"
            twice.add(place, name, "is there more than once", remedy)
    twice.raise_any()
    return tuple(lines)
