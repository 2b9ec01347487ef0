"""A small table that was pasted or uploaded: its head, its lines, and what is wrong with their shape."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import StringIO
from typing import Final

from fabella.errors import Problem, suggestion

LONGEST: Final = 80
"""Letters that a name can have."""

_PARTED_BY = (",", ";", "\t")
_UNFIT = re.compile(r"[;|/\\]|^\.+$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line: where it stands, and its cells by column."""

    place: str
    cells: Mapping[str, str]

    def cell(self, column: str) -> str:
        """Return what stands in a column; empty when nothing does."""
        return self.cells.get(column, "")

    def parts(self, column: str) -> tuple[str, ...]:
        """Return several names from one cell, parted by semicolons or bars."""
        return tuple(filter(None, map(str.strip, re.split(r"[;|]", self.cell(column)))))


def read_rows(name: str, text: str, columns: Sequence[str], problems: list[Problem]) -> tuple[Row, ...]:
    """Return the lines of a table whose first column names somebody, each once; problems are added.

    A table without a head is a list of names when it has one column.
    """
    rows = read_lines(text, f"{name}, line", problems)
    if not rows:
        return ()
    head = _head(name, rows, columns, problems)
    return tuple(_checked(name, rows if head is None else rows[1:], head or columns[:1], problems))


def read_lines(text: str, place: str, problems: list[Problem]) -> list[tuple[int, list[str]]]:
    """Return each line that is not empty with its number and its cells; problems are added."""
    if "\0" in text:
        where = f"{place} {text[: text.index(chr(0))].count(chr(10)) + 1}"
        says, remedy = "holds a null character", "save it as CSV in UTF-8"
        problems.append(Problem(place=where, value="", says=says, remedy=remedy))
        return []
    lines = text.lstrip("\ufeff").splitlines()
    first = next((each for each in lines if each.strip()), "")
    parted_by = max(_PARTED_BY, key=first.count)
    reader = csv.reader(StringIO("\n".join(lines)), delimiter=parted_by, skipinitialspace=True)
    try:
        found = [(reader.line_num, [" ".join(cell.split()) for cell in row]) for row in reader]
    except csv.Error as error:
        says = f"is no line of a table: {error}"
        problems.append(Problem(place=f"{place} {reader.line_num}", value="", says=says, remedy=""))
        return []
    return [(line, row) for line, row in found if any(row)]


def _head(
    name: str, rows: Sequence[tuple[int, list[str]]], columns: Sequence[str], problems: list[Problem]
) -> list[str] | None:
    """Return the columns that the first line names; None when it is no head."""
    line, cells = rows[0]
    told = [each.casefold().replace("_", " ") for each in cells]
    if columns[0] not in told:
        if all(len(row) == 1 for _, row in rows):
            return None
        says, remedy = "names no columns", f"begin with: {', '.join(columns)}"
        problems.append(Problem(place=f"{name}, line {line}", value="", says=says, remedy=remedy))
        return list(columns)
    for each in told:
        if each not in columns or told.count(each) > 1:
            says = "stands there twice" if told.count(each) > 1 else "is no column"
            place = f"{name}, line {line}"
            problem = Problem(place=place, value=each, says=says, remedy=suggestion(each, columns))
            if problem not in problems:
                problems.append(problem)
    return told


def _checked(
    name: str,
    rows: Sequence[tuple[int, list[str]]],
    head: Sequence[str],
    problems: list[Problem],
) -> list[Row]:
    made, lines = [], dict[str, int]()
    for line, cells in rows:
        place = f"{name}, line {line}"

        def wrong(value: str, says: str, remedy: str, place: str = place) -> None:
            problems.append(Problem(place=place, value=value, says=says, remedy=remedy))

        if len(cells) > len(head) and any(cells[len(head) :]):
            wrong(str(len(cells)), "cells are more than there are columns", f"there are {len(head)}")
        own = dict(zip(head, cells, strict=False))
        who = own.get(name.removesuffix("s"), "")
        if not who or len(who) > LONGEST:
            wrong(who[:20], "is no name" if who else "has no name", f"write 1 to {LONGEST} letters")
        elif _UNFIT.search(who):
            wrong(who, "will not do as a name", "write it without ; | / and \\")  # lists and addresses
        elif who.casefold() in lines:
            wrong(who, f"stands on line {lines[who.casefold()]} too", "name everybody once")
        lines.setdefault(who.casefold(), line)
        made.append(Row(place=place, cells=own))
    return made
