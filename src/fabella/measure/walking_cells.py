"""The cells of a table (CSV): a header, rows as wide as it, and columns of numbers."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.errors import InputError, Problem

Row = tuple[int, list[str]]
"""The number of a line, and its cells."""
_TOLD = 3  # runs of lines with the same fault; more are counted
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What is wrong with a row, or with its cell in a ``column``; ``value`` is what stands there."""

    line: int
    column: str = ""
    value: str = ""
    says: str
    remedy: str


def summed(faults: Iterable[Fault]) -> tuple[Problem, ...]:
    """Return one problem for all rows with the same fault: the lines it holds for, and the first value."""
    alike: dict[tuple[str, str, str], list[Fault]] = {}
    for each in faults:
        alike.setdefault((each.column, each.says, each.remedy), []).append(each)
    return tuple(
        Problem(
            place=_lines([each.line for each in same]) + (f", {column}" if column else ""),
            value=same[0].value + (" …" if len({each.value for each in same}) > 1 else ""),
            says=says,
            remedy=remedy,
        )
        for (column, says, remedy), same in alike.items()
    )


def rows_of(text: str) -> tuple[list[str], list[Row]]:
    """Return the header and the rows of a table; raise `InputError` when it is none, or cells are missing."""
    lines = text.removeprefix("\ufeff").splitlines()
    first = next((line for line in lines if line.strip()), "")
    reader = csv.reader(lines, delimiter=max(",;\t", key=first.count), strict=True)
    try:
        rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader if any(row)]
    except csv.Error as error:
        raise _no_table(f"is no table: {error}", "save it as CSV") from None
    if not rows:
        raise _no_table("is empty", "give a header row and rows of numbers")
    header = rows[0][1]
    narrow = summed(
        Fault(
            line=line,
            value="1 cell" if len(row) == 1 else f"{len(row)} cells",
            says=f"where the header has {len(header)}",
            remedy="part columns by comma, semicolon or tab; not by a comma where decimals have one",
        )
        for line, row in rows[1:]
        if len(row) != len(header)
    )
    if narrow:
        raise InputError(narrow)
    return header, rows[1:]


def numbers_in(
    header: Sequence[str], rows: Sequence[Row], wanted: Sequence[str], *, needed: str
) -> dict[str, NDArray[np.float64]]:
    """Return columns of numbers by name, nan where a cell is empty; none of the ``needed`` one may be.

    Raises
    ------
    InputError
        When a cell is no number, or a comma in it may be a decimal or between thousands.
    """
    places = {name: header.index(name) for name in wanted}
    cells = {name: [row[place] for _, row in rows] for name, place in places.items()}
    unclear = _unclear_commas([cell for column in cells.values() for cell in column])
    columns = {
        name: np.array([math.nan if unclear and "," in cell else _number(cell) for cell in column])
        for name, column in cells.items()
    }
    faults = summed(
        fault
        for name, column in columns.items()
        for at in np.flatnonzero(np.isnan(column)).tolist()
        for fault in _faults(rows[at][0], name, cells[name][at], unclear=unclear, needed=name == needed)
    )
    if faults:
        raise InputError(faults)
    return columns


def _faults(line: int, column: str, cell: str, *, unclear: str, needed: bool) -> Iterator[Fault]:
    """Yield what is wrong with a cell without a number; nothing where it may be empty, and is."""
    if unclear and "," in cell:
        remedy = "write all decimals with a point, and nothing between thousands"
        yield Fault(line=line, column=column, value=cell, says=unclear, remedy=remedy)
    elif cell.casefold() not in {"", "nan", "na"}:
        remedy = "write a number" if needed else "write a number, or leave empty what is missing"
        yield Fault(line=line, column=column, value=cell, says="is no number", remedy=remedy)
    elif needed:
        yield Fault(line=line, column=column, says="is missing", remedy="give one in every row")


def _unclear_commas(cells: Sequence[str]) -> str:
    """Return why commas in numbers cannot be taken for decimals; empty where they can, or there are none."""
    with_comma = [cell for cell in cells if "," in cell]
    if with_comma and any("." in cell for cell in cells):
        return "has a comma in a table that has points too"
    if with_comma and all(map(_GROUPED.fullmatch, with_comma)):
        return "may have decimals behind its comma, or thousands before it"
    return ""


def _number(cell: str) -> float:
    """A finite number, its decimals behind a point or a comma; not a number for anything else."""
    try:
        value = float(cell.replace(",", "."))
    except ValueError:
        return math.nan
    return value if math.isfinite(value) else math.nan


def _lines(numbers: Sequence[int]) -> str:
    """Return the numbers of lines in words, in order: ``lines 3, 5 to 9, 12 and 27 more``."""
    runs: list[list[int]] = []
    for each in numbers:
        if runs and runs[-1][-1] == each - 1:
            runs[-1].append(each)
        else:
            runs.append([each])
    told = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs[:_TOLD]]
    if rest := sum(map(len, runs[_TOLD:])):
        told.append(f"{rest} more")
    *before, last = told
    listed = f"{', '.join(before)} and {last}" if before else last
    return f"line {listed}" if len(numbers) == 1 else f"lines {listed}"


def _no_table(says: str, remedy: str) -> InputError:
    return InputError.of(place="the file", says=says, remedy=remedy)
