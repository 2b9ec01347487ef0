"""What one cell of a file of marks means: a mark, a grade, a time, a yes or no."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from datetime import UTC, datetime, time
from math import inf, isfinite, nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fabella.assess.blueprint import GradeScale
from fabella.assess.marks import State
from fabella.errors import suggestion

GRADE_BLANK = -1
GRADE_MISSING = 0  # given as a word; grades themselves count from 1

_WORDS = {state.word: state for state in State if state is not State.MARKED}
_FLAGS = {"": -1, "no": 0, "yes": 1}


class Meaning(NamedTuple):
    """What a text means: a number, a code, and the remedy when it means nothing."""

    number: float
    code: int
    remedy: str | None = None


class Column:
    """A column of text whose distinct texts are understood once.

    ``texts`` are the distinct texts, ``meanings`` theirs, ``text_of`` the position of each row's text.
    """

    def __init__(self, column: Sequence[str], reader: Callable[[str], Meaning]) -> None:
        self.texts = tuple(sorted(set(column)))
        self.meanings = tuple(map(reader, self.texts))
        where = {text: position for position, text in enumerate(self.texts)}
        self.text_of = np.array([where[text] for text in column], dtype=np.int64)
        self.number_of_text = np.array([each.number for each in self.meanings], dtype=np.float64)
        code_of_text = np.array([each.code for each in self.meanings], dtype=np.int64)
        self.numbers, self.codes = self.number_of_text[self.text_of], code_of_text[self.text_of]

    def at(self, rows: NDArray[np.bool_]) -> Column:
        """Return the column with these rows only."""
        taken = copy(self)
        taken.text_of, taken.numbers, taken.codes = self.text_of[rows], self.numbers[rows], self.codes[rows]
        return taken

    def text_at(self, rows: NDArray[np.intp]) -> str:
        """Return the distinct texts of some rows, for a message."""
        return ", ".join(self.texts[position] for position in sorted(set(self.text_of[rows].tolist())))


def read_mark(text: str) -> Meaning:
    """Return a mark: its number (0 for not done, NaN when missing) and its `State`."""
    if (state := _WORDS.get(text)) is not None:
        return Meaning(0.0 if state is State.NOT_DONE else nan, state)
    if text and isfinite(value := _number(text)):
        return Meaning(value + 0.0, State.MARKED)  # -0 becomes 0
    if not text:
        return Meaning(0.0, State.MARKED, f"write a number or why there is none: {', '.join(_WORDS)}")
    near = suggestion(text, _WORDS)
    comma = "use a point for the decimals" if isfinite(_number(text.replace(",", ".", 1))) else ""
    return Meaning(0.0, State.MARKED, comma or (near if near.startswith("did") else f"a number, or {near}"))


def read_grade(scale: GradeScale) -> Callable[[str], Meaning]:
    """Return a reader of global grades, by value or by name: codes count the scale from 1.

    A number is always a value, also where grades are named by numbers of their own (5, 4, 3, 2, 1).
    """
    by_name = {name.casefold(): place for place, name in enumerate(scale.names, start=1)}
    by_value = {value: place for place, value in enumerate(scale.values, start=1)}
    allowed = f"use one of {', '.join(f'{v:g} {n}' for v, n in zip(scale.values, scale.names, strict=True))}"

    def read(text: str) -> Meaning:
        if not text:
            return Meaning(nan, GRADE_BLANK)
        if text in _WORDS and text != State.NOT_DONE.word:
            return Meaning(nan, GRADE_MISSING)
        number = _number(text)
        place = by_value.get(number) if isfinite(number) else by_name.get(text.casefold())
        return Meaning(nan, place) if place else Meaning(nan, GRADE_BLANK, allowed)

    return read


CLOCK, MOMENT = 0, 1  # codes of a time: without its day, and with it


def read_time(text: str) -> Meaning:
    """Return a clock time or date-time in seconds; a date-time without a zone counts as universal time.

    Its code is `CLOCK` or `MOMENT`, -1 where there is none: seconds of the two cannot be compared.
    """
    if not text:
        return Meaning(nan, -1)
    try:
        clock = time.fromisoformat(text)
        return Meaning(clock.hour * 3600 + clock.minute * 60 + clock.second + clock.microsecond / 1e6, CLOCK)
    except ValueError:
        pass
    try:
        moment = datetime.fromisoformat(text)
        universal = moment.astimezone(UTC) if moment.tzinfo else moment.replace(tzinfo=UTC)
    except (ValueError, OverflowError):  # no time, or in universal time one of the year 0 or 10000
        return Meaning(nan, -1, "write 09:05:00 or 2031-05-04T09:05:00")
    return Meaning(universal.timestamp(), MOMENT)


def read_flag(text: str) -> Meaning:
    """Return 1 for yes, 0 for no, -1 for empty."""
    if text in _FLAGS:
        return Meaning(nan, _FLAGS[text])
    return Meaning(nan, -1, "write yes, no or nothing")


def _number(text: str) -> float:
    try:
        return float(text) if "_" not in text else inf
    except ValueError:
        return inf
