"""A small table that was pasted or uploaded: its head, its lines, and what is wrong with their shape."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from io import StringIO

from django.conf import settings
from django.http import HttpRequest

from fabella.errors import InputError, Problem, Problems, suggestion

MOST_BYTES = 2_000_000
"""Of a file that holds a table."""

_PARTED_BY = (",", ";", "\t")
_MOST_COLUMNS = 100  # told of when they are wrong; no table has so many
_TOLD = 40  # letters of a wrong column that are repeated


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


def sent_table(request: HttpRequest, field: str, *, place: str) -> str | None:
    """Return the text of a file that was sent, None when none was; `InputError` when it is no such text."""
    sent = request.FILES.get(field)
    whole = int(request.META.get("CONTENT_LENGTH") or 0)
    if (sent is not None and (sent.size or 0) > MOST_BYTES) or whole > settings.FILE_UPLOAD_MAX_MEMORY_SIZE:
        remedy = f"send up to {MOST_BYTES // 1_000_000} MB"
        raise InputError.of(place=place, says="is too large", remedy=remedy)
    if sent is None:
        return None
    try:
        return str(sent.read(), "utf-8-sig")
    except UnicodeDecodeError:
        says, remedy = "is no text", "save it as CSV in UTF-8"
        raise InputError.of(place=place, value=str(sent.name), says=says, remedy=remedy) from None


def read_lines(text: str, place: str, problems: Problems) -> list[tuple[int, list[str]]]:
    """Return each line that is not empty with its number and its cells; problems are added."""
    if "\0" in text:
        where = f"{place} {text[: text.index(chr(0))].count(chr(10)) + 1}"
        problems.add(where, "", "holds a null character", "save it as CSV in UTF-8")
        return []
    lines = text.lstrip("\ufeff").splitlines()
    first = next((each for each in lines if each.strip()), "")
    parted_by = max(_PARTED_BY, key=first.count)
    reader = csv.reader(StringIO("\n".join(lines)), delimiter=parted_by, skipinitialspace=True)
    found, begun = list[tuple[int, list[str]]](), 1
    try:
        for row in reader:
            if reader.line_num > begun:
                says, remedy = "has a quotation mark that is not closed", "close it, or leave it out"
                problems.add(f"{place} {begun}", "", says, remedy)
                return []  # what follows is parted wrongly
            found.append((begun, [" ".join(cell.split()) for cell in row]))
            begun = reader.line_num + 1
    except csv.Error as error:
        problems.add(f"{place} {begun}", "", f"is no line of a table: {error}", "")
        return []
    return [(line, row) for line, row in found if any(row)]


def read_head(cells: Sequence[str]) -> list[str]:
    """Return the columns that a line names, however they are written."""
    return [each.casefold().replace("_", " ") for each in cells]


def wrong_in_head(place: str, head: Sequence[str], columns: Sequence[str]) -> Iterator[Problem]:
    """Yield each column that nobody knows or that is named twice, once; of a very long line the first."""
    for each in dict.fromkeys(head[:_MOST_COLUMNS]):
        if each not in columns or head.count(each) > 1:
            says = "stands there twice" if head.count(each) > 1 else "is no column"
            yield Problem(place=place, value=each[:_TOLD], says=says, remedy=suggestion(each, columns))


def row_of(place: str, head: Sequence[str], cells: Sequence[str], problems: Problems) -> Row:
    """Return a line with its cells by column; cells beyond the last column are added to the problems."""
    if len(cells) > len(head) and any(cells[len(head) :]):
        says, remedy = "cells are more than there are columns", f"there are {len(head)}"
        problems.add(place, str(len(cells)), says, remedy)
    return Row(place=place, cells=dict(zip(head, cells, strict=False)))
