"""A table whose first column names somebody, as it was pasted: its lines, and who cannot be named so."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from fabella.errors import Problems
from fabella.web.tables import Row, read_head, read_lines, row_of, wrong_in_head

LONGEST: Final = 80
"""Letters that a name can have."""

_UNFIT = re.compile(r"[;|/\\]|^\.+$")


def read_rows(
    name: str, text: str, columns: Sequence[str], problems: Problems, *, all_needed: bool = False
) -> tuple[Row, ...]:
    """Return the lines of a table whose first column names somebody, each once; problems are added.

    A table without a head is a list of names when it has one column. Where ``all_needed``, one that begins
    with as many cells as there are columns, none of which names any, has them in their order.
    """
    rows = read_lines(text, f"{name}, line", problems)
    if not rows:
        return ()
    first = rows[0][1]
    if all_needed and len(first) == len(columns) and not set(read_head(first)) & set(columns):
        return tuple(_checked(name, rows, columns, problems))
    head = _head(name, rows, columns, problems)
    return tuple(_checked(name, rows if head is None else rows[1:], head or columns[:1], problems))


def _head(
    name: str, rows: Sequence[tuple[int, list[str]]], columns: Sequence[str], problems: Problems
) -> list[str] | None:
    """Return the columns that the first line names; None when it is no head."""
    line, cells = rows[0]
    place, told = f"{name}, line {line}", read_head(cells)
    if columns[0] not in told:
        if all(len(row) == 1 for _, row in rows):
            return None
        problems.add(place, "", "names no columns", f"begin with: {', '.join(columns)}")
        return list(columns)
    problems.extend(wrong_in_head(place, told, columns))
    return told


def _checked(
    name: str,
    rows: Sequence[tuple[int, list[str]]],
    head: Sequence[str],
    problems: Problems,
) -> list[Row]:
    made, lines = [], dict[str, int]()
    for line, cells in rows:
        place = f"{name}, line {line}"
        row = row_of(place, head, cells, problems)
        who = row.cell(name.removesuffix("s"))
        if not who or len(who) > LONGEST:
            says = "is no name" if who else "has no name"
            problems.add(place, who[:20], says, f"write 1 to {LONGEST} letters")
        elif _UNFIT.search(who):
            remedy = "write it without ; | / and \\"  # which part lists and addresses
            problems.add(place, who, "will not do as a name", remedy)
        elif who.casefold() in lines:
            problems.add(place, who, f"stands on line {lines[who.casefold()]} too", "name everybody once")
        lines.setdefault(who.casefold(), line)
        made.append(row)
    return made
