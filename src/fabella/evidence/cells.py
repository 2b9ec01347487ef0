"""One row of a table, read cell by cell; whatever is wrong is noted, never raised."""

from collections.abc import Mapping
from enum import StrEnum
from functools import cache
from math import isfinite
from typing import Any, TypeVar

from fabella.errors import EvidenceError, Problem, Problems, suggestion
from fabella.evidence.numbers import Estimate, IntervalKind
from fabella.evidence.source import EvidenceKind, Provenance, Source

E = TypeVar("E", bound=StrEnum)
T = TypeVar("T")

_INTERVALS: Mapping[str, tuple[IntervalKind, float | None]] = {
    "": (IntervalKind.NONE, None),
    "ci95": (IntervalKind.CONFIDENCE, 0.95),
    "range": (IntervalKind.RANGE, None),
    "iqr": (IntervalKind.QUARTILES, None),
    "bound": (IntervalKind.BOUND, None),
}
_VERIFIED = {"seen": False, "memory": True}
_FLAGS = {"false": False, "true": True}
_NOBODY = Source(key="nobody", citation="nobody", identifier="", kind=EvidenceKind.NARRATIVE)


class Cells:
    """The cells of one row by column, with the problems found in them.

    A wrong cell yields a stand-in, so that the rest of the row is read too; a row with problems is dropped.
    """

    def __init__(self, row: Mapping[str, str], *, place: str, sources: Mapping[str, Source]) -> None:
        self._row, self._sources = row, sources
        self.place = place
        self.problems = Problems()

    def wrong(self, column: str, says: str, remedy: str = "") -> None:
        """Note, once, that a cell is wrong."""
        place = f"{self.place}, column {column}"
        problem = Problem(place=place, value=self._row[column], says=says, remedy=remedy)
        if problem not in self.problems:
            self.problems.append(problem)

    def text(self, column: str, *, needed: bool = False) -> str:
        """Return the text of a cell, which may be empty unless it is needed."""
        text = self._row[column]
        if needed and not text:
            self.wrong(column, "is empty", "every row needs it")
        return text

    def number(self, column: str) -> float | None:
        """Return the number in a cell, None when the cell is empty."""
        text = self._row[column]
        if not text:
            return None
        try:
            number = float(text)
        except ValueError:
            self.wrong(column, "is not a number", "use digits and a decimal point, or leave it empty")
            return None
        if not isfinite(number):
            self.wrong(column, "is not a finite number", "leave it empty and say so in the notes")
        return number

    def needed_number(self, column: str) -> float:
        """Return the number in a cell, which may not be empty."""
        number = self.number(column)
        if number is None:
            self.text(column, needed=True)
        return number or 0.0

    def count(self, column: str) -> int | None:
        """Return the whole number in a cell, None when the cell is empty."""
        text = self._row[column]
        if text and not text.isdecimal():
            self.wrong(column, "is not a whole number from 0", "use digits only, or leave it empty")
        return int(text) if text.isdecimal() else None

    def choice(self, column: str, kind: type[E]) -> E:
        """Return the member of an enumeration that a cell names."""
        members: Mapping[str, E] = _members(kind)
        return self._pick(column, members)

    def flag(self, column: str) -> bool:
        """Return a yes or no."""
        return self._pick(column, _FLAGS)

    def source(self) -> Source:
        """Return the source that the row names."""
        key = self._row["source"]
        if key not in self._sources:
            self.wrong("source", "is not in sources.csv", suggestion(key, self._sources))
        return self._sources.get(key, _NOBODY)

    def provenance(self, column: str = "provenance") -> Provenance:
        """Return what the row, or one part of it, rests on."""
        return self.choice(column, Provenance)

    def recalled(self) -> bool:
        """Return whether the value was recalled."""
        return self._pick("verified", _VERIFIED)

    def estimate(self, value: str, low: str, high: str) -> Estimate | None:
        """Return the estimate that three columns make together; None when all three are empty."""
        numbers = [self.number(column) for column in (value, low, high)]
        kind, level = self._pick("interval", _INTERVALS)
        if numbers == [None, None, None]:
            return None
        ends = numbers[1] is not None or numbers[2] is not None
        try:
            return Estimate(
                value=numbers[0],
                low=numbers[1],
                high=numbers[2],
                interval=kind if ends else IntervalKind.NONE,
                level=level if ends else None,
                source=self.source(),
                provenance=self.provenance(),
                recalled=self.recalled(),
            )
        except EvidenceError as error:
            self.wrong(value, f"makes no estimate: {error}", f"check {value}, {low}, {high} and interval")
            return None

    def needed_estimate(self, value: str, low: str, high: str) -> Estimate:
        """Return the estimate that three columns make together, which may not all be empty."""
        estimate = self.estimate(value, low, high)
        if estimate is None:
            self.wrong(value, "is empty", f"give {value}, {low} or {high}")
            return Estimate(value=0, source=_NOBODY, provenance=Provenance.JUDGEMENT)
        return estimate

    def _pick(self, column: str, meanings: Mapping[str, T]) -> T:
        text = self._row[column]
        if text not in meanings:
            self.wrong(column, "is not allowed here", suggestion(text, filter(None, meanings)))
        return meanings.get(text, next(iter(meanings.values())))


@cache
def _members(kind: type[StrEnum]) -> Mapping[str, Any]:
    return {str(member): member for member in kind}
