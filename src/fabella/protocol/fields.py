"""Reading one table of a data file field by field: what is wrong is collected, never raised."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from math import nan
from reprlib import Repr
from typing import Any, Final, TypeVar

from fabella.errors import InputError, Problems, suggestion

T = TypeVar("T")

_REQUIRED: Final = object()
_SHORT: Final = Repr()  # of what is without end, only the beginning is shown
_UNFIT: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_NO_TEXT: Final = ("holds a control character, or half a character", "leave it out")  # no paper shows them
_LARGEST: Final = 1e300  # a whole number beyond is no quantity, and too large to count with


def json_object(text: str | bytes, *, place: str) -> dict[str, Any]:
    """Return the object that a text of JSON holds; raise `InputError`, at ``place``, when it holds none."""
    try:
        tree = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError.of(place=place, says=f"is no JSON: {error}", remedy="") from None
    if not isinstance(tree, dict):
        raise InputError.of(place=place, says="is no object", remedy="write {…}")
    return tree


class Fields:
    """The fields of one table, and the problems met while reading them.

    A defective field yields a harmless stand-in, so that reading goes on and every defect is found in one go.

    Parameters
    ----------
    place
        File and sign, as they stand before the field in a message.
    table
        What the file says.
    problems
        Where problems are added, in the order in which they are met.
    """

    def __init__(self, place: str, table: Mapping[str, Any], problems: Problems) -> None:
        self.place = place
        self._table = table
        self._problems = problems
        self._read: set[str] = set()

    def has(self, field: str) -> bool:
        """Say whether the field is written at all."""
        return field in self._table

    def complain(self, field: str, value: object, says: str, remedy: str) -> None:
        """Add a problem of one field."""
        shown = value if isinstance(value, str) else _SHORT.repr(value)
        self._problems.add(f"{self.place}, {field}", shown, says, remedy)

    def text(self, field: str, *, default: str | None = None) -> str:
        """Return a text that is not blank."""
        value = self._take(field, str, "write a text", _REQUIRED if default is None else default)
        if isinstance(value, str) and _UNFIT.search(value):
            self.complain(field, value, *_NO_TEXT)
            return "?"
        if isinstance(value, str) and (value.strip() or value == default):
            return value
        if value is not None:
            self.complain(field, value, "is blank", "write a text")
        return "?"

    def texts(self, field: str, *, optional: bool = False) -> tuple[str, ...]:
        """Return a list of different texts; an optional one may be left out."""
        value = self._take(field, list, "write a list of texts", [] if optional else _REQUIRED)
        if value is None:
            return ()
        if not all(isinstance(each, str) and each.strip() for each in value):
            self.complain(field, value, "holds something else than texts", "write a list of texts")
            return tuple(map(str, value))
        for each in filter(_UNFIT.search, value):
            self.complain(field, each, *_NO_TEXT)
        for each in dict.fromkeys(each for each in value if value.count(each) > 1):
            self.complain(field, each, "stands there twice", "keep one")
        return tuple(value)

    def whole(self, field: str, *, low: int, high: int) -> int:
        """Return a whole number from ``low`` to ``high``."""
        allowed = f"write a whole number from {low} to {high}"
        value = self._take(field, int, allowed)
        if value is not None and not low <= value <= high:
            self.complain(field, value, "is out of range", allowed)
            return low
        return low if value is None else int(value)

    def number(self, field: str) -> float:
        """Return any number."""
        value = self._take(field, (int, float), "write a number")
        if isinstance(value, int) and abs(value) > _LARGEST:
            self.complain(field, value, "is too large", "write a number")
            return nan
        return nan if value is None else float(value)

    def flag(self, field: str, *, default: bool | None = None) -> bool:
        """Return true or false."""
        value = self._take(field, bool, "write true or false", _REQUIRED if default is None else default)
        return bool(value)

    def choice(self, field: str, allowed: Mapping[str, T]) -> T:
        """Return what one of the allowed names stands for."""
        value = self._take(field, str, suggestion("", allowed))
        return self._named(field, value, allowed) if value is not None else next(iter(allowed.values()))

    def choices(self, field: str, allowed: Mapping[str, T], *, optional: bool = False) -> tuple[T, ...]:
        """Return what several of the allowed names stand for."""
        return tuple(self._named(field, each, allowed) for each in self.texts(field, optional=optional))

    def pair(self, field: str, *, low: float, high: float) -> tuple[float, float] | None:
        """Return a range written as two rising numbers, None when it is left out."""
        if not self.has(field):
            return None
        allowed = f"write two rising numbers from {low:g} to {high:g}"
        value = self._take(field, list, allowed)
        match value:
            case [int() | float() as first, int() | float() as second] if low <= first <= second <= high:
                return float(first), float(second)
            case list():
                self.complain(field, value, "is no range", allowed)
        return None

    def table(self, field: str) -> Fields | None:
        """Return the fields of a table within this one, None when it is left out."""
        if not self.has(field):
            return None
        value = self._take(field, dict, "write a table")
        return None if value is None else Fields(f"{self.place}, {field}", value, self._problems)

    def rows(self, field: str, *, defaults: str | None = None) -> tuple[Fields, ...]:
        """Return the fields of every table of a list; ``defaults`` names the table of what they share."""
        shared = self._take(defaults, dict, "write a table", {}) if defaults else {}
        rows = self._take(field, list, f"write at least one [[{field}]]") or ()
        found = []
        for number, row in enumerate(rows, start=1):
            if isinstance(row, dict):
                place = f"{self.place}, {row.get('id', f'{field} {number}')}"
                found.append(Fields(place, {**(shared or {}), **row}, self._problems))
            else:
                self.complain(field, row, "is no table", f"write [[{field}]]")
        return tuple(found)

    def finish(self) -> None:
        """Complain about every field that nobody asked for."""
        for field in sorted(self._table.keys() - self._read):
            self.complain(field, "", "is no known field", suggestion(field, sorted(self._read)))

    def _take(
        self, field: str, kind: type | tuple[type, ...], allowed: str, default: object = _REQUIRED
    ) -> Any:
        self._read.add(field)
        value = self._table.get(field, default)
        if value is _REQUIRED:
            self.complain(field, "", "is missing", allowed)
            return None
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            self.complain(field, value, "is of the wrong kind", allowed)
            return None
        return value

    def _named(self, field: str, value: str, allowed: Mapping[str, T]) -> T:
        if value not in allowed:
            self.complain(field, value, "is not known", suggestion(value, allowed))
            return next(iter(allowed.values()))
        return allowed[value]
