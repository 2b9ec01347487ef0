"""Read marks and blueprints from CSV in long form."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping, Sequence
from io import StringIO

from fabella.assess.blueprint import Blueprint
from fabella.assess.gathering import ANYBODY, OPTIONAL, REQUIRED, Roster, gather
from fabella.assess.marks import Marks
from fabella.errors import InputError, Problem, Problems, suggestion

_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")


def read_marks(
    content: bytes | str,
    *,
    blueprint: Blueprint,
    roster: Roster = ANYBODY,
) -> Marks:
    """Return the marks in a CSV file of long form, one row an item mark.

    Parameters
    ----------
    content
        The file: UTF-8, a header with the columns of `REQUIRED` and any of `OPTIONAL` in any order,
        separated by commas or semicolons; what the cells may hold says `gather`. Where semicolons part
        the cells, marks and grades may have decimal commas, as spreadsheets of such countries write both.
    blueprint, roster
        What may stand in it.

    Raises
    ------
    InputError
        Lists everything that is wrong with the file, each with its line numbers.
    """
    columns, lines = read_columns(content, required=REQUIRED, optional=OPTIONAL, numbers=("mark", "global"))
    return gather(columns, lines=lines, blueprint=blueprint, roster=roster)


def read_columns(
    content: bytes | str, *, required: Sequence[str], optional: Sequence[str], numbers: Sequence[str] = ()
) -> tuple[Mapping[str, Sequence[str]], Sequence[int]]:
    """Return the columns of a CSV file by name, blanks round each text cut off, and the line of each row.

    What spreadsheets add is left out: columns without a name and rows in which nothing stands. Decimal commas
    of the columns ``numbers`` become points in a file whose cells are parted by semicolons.

    Raises
    ------
    InputError
        When it is no text, has no rows, its header lacks or repeats a column or names an unknown one, a row
        has too few or too many cells, or it ends within quotes.
    """
    text = content if isinstance(content, str) else _decoded(content)
    text = text.removeprefix("\ufeff")
    head = text.split("\n", 1)[0]
    delimiter = ";" if head.count(";") > head.count(",") else ","
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    header, broken = list[str](), Problems()
    rows, lines = list[list[str]](), list[int]()
    try:
        header = [name.strip() for name in next(reader, [])]
        rows.extend(reader)
        lines = list(range(2, len(rows) + 2))
        if rows and (
            reader.line_num != len(rows) + 1 or [] in rows
        ):  # cells of several lines, or empty lines
            rows, lines = _numbered(text, delimiter)
    except csv.Error as error:
        broken.add(f"line {reader.line_num}", "", f"is broken ({error})", "is the file cut short?")
    header, rows, lines = _without_margins(header, rows, lines)
    Problems([*wrong_columns(header, required, optional, place="line 1"), *broken]).raise_any()
    Problems(_wrong_lengths(rows, lines, len(header), complete=text.endswith("\n"))).raise_any()
    columns = dict(zip(header, map(_stripped, zip(*rows, strict=True)), strict=True))
    if delimiter == ";":
        columns |= {name: _with_points(columns[name]) for name in numbers if name in columns}
    return columns, lines


def _without_margins(
    header: list[str], rows: list[list[str]], lines: list[int]
) -> tuple[list[str], list[list[str]], list[int]]:
    """Return a table without rows and, at its right, columns in which nothing stands."""
    width = len(header)
    while width and not header[width - 1]:
        width -= 1
    blank = len(header) - width
    if blank and not any(map(str.strip, (cell for row in rows for cell in row[width : len(header)]))):
        header = header[:width]
        rows = [row[:width] + row[width + blank :] for row in rows]
    if all(any(row) for row in rows):
        return header, rows, lines
    kept = [place for place, row in enumerate(rows) if any(map(str.strip, row))]
    return header, [rows[place] for place in kept], [lines[place] for place in kept]


def _with_points(column: Sequence[str]) -> Sequence[str]:
    texts = {text: text.replace(",", ".") for text in set(column) if _DECIMAL_COMMA.fullmatch(text)}
    return [texts.get(text, text) for text in column] if texts else column


def _numbered(text: str, delimiter: str) -> tuple[list[list[str]], list[int]]:
    """Return the rows that are not empty, and the line each ends on."""
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    next(reader)
    rows, lines = [], []
    for row in reader:
        if row:
            rows.append(row)
            lines.append(reader.line_num)
    return rows, lines


def _stripped(column: Sequence[str]) -> Sequence[str]:
    if any(text != text.strip() for text in set(column)):
        return [text.strip() for text in column]
    return column


def _decoded(content: bytes) -> str:
    try:
        return content.decode()
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise InputError.of(
            place=f"line {line}", says="is not UTF-8 text", remedy="save it as CSV in UTF-8"
        ) from None


def wrong_columns(
    names: Sequence[str], required: Sequence[str], optional: Sequence[str], *, place: str
) -> Iterable[Problem]:
    """Yield every column that is unknown, there twice or missing."""
    allowed = (*required, *optional)
    for name in dict.fromkeys(names):
        if name not in allowed:
            remedy = suggestion(name, allowed)
            yield Problem(place=place, value=name, says="is not a known column", remedy=remedy)
        elif names.count(name) > 1:
            yield Problem(place=place, value=name, says="is there more than once", remedy="keep one")
    for name in required:
        if name not in names:
            remedy = f"there must be {', '.join(required)}"
            yield Problem(place=place, value=name, says="is a column that is missing", remedy=remedy)


def _wrong_lengths(
    rows: list[list[str]], lines: list[int], width: int, *, complete: bool
) -> Iterable[Problem]:
    if not rows:
        yield Problem(place="line 2", says="is missing", remedy="the file holds no marks")
    for row, line in zip(rows, lines, strict=True):
        if len(row) != width:
            short = row is rows[-1] and not complete and len(row) < width
            remedy = "is the file cut short?" if short else f"the header has {width}"
            yield Problem(place=f"line {line}", says=f"has {len(row)} cells", remedy=remedy)
