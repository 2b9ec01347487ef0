"""Read marks in long form from Parquet: the same columns and the same refusals as CSV, with rows for lines.

Every type becomes the text that a spreadsheet would have exported, once for each distinct value; what texts
mean is then decided in one place for both formats.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib import import_module
from importlib.util import find_spec
from typing import Any

import numpy as np

from fabella.assess.blueprint import Blueprint
from fabella.assess.gathering import ANYBODY, OPTIONAL, REQUIRED, Roster, gather
from fabella.assess.marks import Marks
from fabella.assess.reading import wrong_columns
from fabella.errors import InputError, Problems, UsageError

MAGIC = b"PAR1"
"""The first four bytes of every file of Parquet, and the last four of every whole one."""

_TIMES = ("started", "finished")
_FLAGS = ("timed_out",)


def read_parquet_marks(content: bytes, *, blueprint: Blueprint, roster: Roster = ANYBODY) -> Marks:
    """Return the marks in a Parquet file of long form, one row an item mark.

    Parameters
    ----------
    content
        The file: the columns of `REQUIRED` and any of `OPTIONAL`, in any order. Texts and whole numbers may
        stand in all of them, numbers with decimals too (1001.0 is the name 1001); yes or no only in
        ``timed_out``, times and moments only in ``started`` and ``finished``. Null is an empty cell, and so
        is NaN. Dictionaries are read as what they stand for.
    blueprint, roster
        What may stand in it.

    Raises
    ------
    InputError
        Lists everything that is wrong with the file, each with the numbers of its rows from 1.
    UsageError
        When the library that reads Parquet is not installed.
    """
    columns, rows = _columns(_table(content))
    return gather(columns, lines=range(1, rows + 1), blueprint=blueprint, roster=roster, counted="row")


def _table(content: bytes) -> Any:
    if find_spec("pyarrow") is None:
        raise UsageError(
            "reading Parquet needs the package pyarrow: install it by pip install 'fabella[parquet]', "
            "or export the marks as CSV"
        )
    arrow, parquet = import_module("pyarrow"), import_module("pyarrow.parquet")
    try:
        # No threads of its own and no file beside this one; strings come as dictionaries where they are.
        return parquet.ParquetFile(arrow.BufferReader(content)).read(use_threads=False)
    except (arrow.ArrowException, OSError, ValueError) as error:
        says = f"cannot be read as Parquet ({str(error).splitlines()[0].rstrip('.')})"
        raise InputError.of(place="", says=says, remedy="is the file cut short?") from None


def _columns(table: Any) -> tuple[Mapping[str, Sequence[str]], int]:
    names = [name.strip() for name in table.column_names]
    wrong = Problems(wrong_columns(names, REQUIRED, OPTIONAL, place="columns"))
    columns: dict[str, Sequence[str]] = {}
    for name, column in zip(names, table.columns, strict=True):
        if name not in (*REQUIRED, *OPTIONAL):
            continue
        try:
            columns[name] = _texts(name, column)
        except _UnreadableTypeError as error:
            wrong.add(f"column '{name}'", str(error), "is a type that marks cannot have", _allowed(name))
    if not wrong and not table.num_rows:
        wrong.add("row 1", "", "is missing", "the file holds no marks")
    wrong.raise_any()
    return columns, table.num_rows


class _UnreadableTypeError(Exception):
    """A column has a type that stands for no cell of its kind."""


def _texts(name: str, column: Any) -> Sequence[str]:
    """Return a column as text, each distinct value worded once."""
    arrow = import_module("pyarrow")
    types = arrow.types
    kind = column.type.value_type if types.is_dictionary(column.type) else column.type
    plain = types.is_string(kind) or types.is_large_string(kind) or types.is_string_view(kind)
    number = types.is_integer(kind) or types.is_floating(kind) or types.is_decimal(kind)
    moment = name in _TIMES and (types.is_timestamp(kind) or types.is_time(kind))
    flag = name in _FLAGS and types.is_boolean(kind)
    if not (plain or number or moment or flag or types.is_null(kind)):
        raise _UnreadableTypeError(str(kind))
    if types.is_null(kind):
        return ("",) * len(column)
    if types.is_timestamp(kind):
        kind = arrow.timestamp("us", kind.tz)  # the finest that Python's own moments tell
    elif plain:
        kind = arrow.large_string()
    coded = column.cast(kind, safe=False).combine_chunks().dictionary_encode()
    worded = np.array([*map(_text, coded.dictionary.to_pylist()), ""], dtype=object)
    places = coded.indices.fill_null(len(worded) - 1).to_numpy(zero_copy_only=False)
    texts: Sequence[str] = worded[places].tolist()
    return texts


def _text(value: object) -> str:
    if value is None or value != value:  # noqa: PLR0124  NaN alone is not itself
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    iso = getattr(value, "isoformat", None)
    return str(iso() if iso else value)


def _allowed(name: str) -> str:
    if name in _TIMES:
        return "use a clock time, a moment, or text of ISO 8601"
    return "use yes or no, as text or Boolean" if name in _FLAGS else "use text or numbers"
