"""The cells of a table (CSV): a header, rows as wide as it, and columns of numbers."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fabella.errors import InputError, Problem

Row = tuple[int, list[str]]
"""The number of a line, and its cells."""
_TOLD = 12  # problems of rows; more are counted


def rows_of(text: str) -> tuple[list[str], list[Row]]:
    """Return the header and the rows of a table; raise `InputError` when it is none, or cells are missing."""
    lines = text.removeprefix("\ufeff").splitlines()
    first = next((line for line in lines if line.strip()), "")
    parting = max(",;\t", key=first.count)
    try:
        read = list(csv.reader(lines, delimiter=parting, strict=True))
    except csv.Error as error:
        raise InputError(
            [Problem(place="the file", value="", says=f"is no table: {error}", remedy="save it as CSV")]
        ) from None
    rows = [(number, [cell.strip() for cell in row]) for number, row in enumerate(read, 1) if any(row)]
    if not rows:
        raise InputError(
            [
                Problem(
                    place="the file",
                    value="",
                    says="is empty",
                    remedy="give a header row and rows of numbers",
                )
            ]
        )
    header = rows[0][1]
    problems = [
        Problem(
            place=f"line {number}",
            value="",
            says=f"has {len(row)} cells, the header {len(header)}",
            remedy="decimals are written with a point; part columns by comma, semicolon or tab",
        )
        for number, row in rows[1:]
        if len(row) != len(header)
    ]
    if problems:
        raise InputError(few(problems))
    return header, rows[1:]


def few(problems: Sequence[Problem]) -> Sequence[Problem]:
    """Return the first problems of rows, and how many more there are."""
    if len(problems) <= _TOLD:
        return problems
    rest = Problem(place="the file", value="", says=f"has {len(problems) - _TOLD} more like these", remedy="")
    return [*problems[:_TOLD], rest]


def _number(cell: str) -> float | None:
    """A finite number, not a number for an empty cell, None for anything else."""
    if cell.casefold() in {"", "nan", "na"}:
        return math.nan
    try:
        value = float(cell)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def numbers_in(
    header: Sequence[str], rows: Sequence[Row], wanted: Sequence[str], *, needed: str
) -> dict[str, NDArray[np.float64]]:
    """Return columns of numbers by name, nan where a cell is empty; none of the ``needed`` one may be."""
    problems, columns = [], {}
    for name in wanted:
        index = header.index(name)
        values = [_number(row[index]) for _, row in rows]
        for (number, row), value in zip(rows, values, strict=True):
            if value is None or (name == needed and math.isnan(value)):
                problems.append(
                    Problem(
                        place=f"line {number}, {name}",
                        value=row[index],
                        says="is no number" if row[index] else "is missing",
                        remedy="write decimals with a point; leave empty what is missing",
                    )
                )
        columns[name] = np.array([math.nan if each is None else each for each in values])
    if problems:
        raise InputError(few(problems))
    return columns
