"""Gather what is wrong with a file, the same mistake on many lines said once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fabella.assess.cell_texts import Column
from fabella.errors import Problem


class Complaints:
    """The problems of a file in the order of their first lines.

    Parameters
    ----------
    lines
        The line of each row, shape (rows,).
    counted
        What ``lines`` count: lines of text, or rows of a table.
    """

    def __init__(self, lines: NDArray[np.int64], *, counted: str = "line") -> None:
        self._lines = lines
        self._counted = counted
        self._found: list[tuple[int, Problem]] = []
        self._rows: list[NDArray[np.intp]] = []

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Return all problems, by their first lines."""
        return tuple(problem for _, problem in sorted(self._found, key=lambda pair: pair[0]))

    @property
    def rows(self) -> NDArray[np.intp]:
        """Return the rows that were complained of."""
        return np.unique(np.concatenate([*self._rows, np.empty(0, dtype=np.intp)]))

    def add(
        self, rows: Sequence[int] | NDArray[np.intp], place: str, value: str, says: str, remedy: str
    ) -> None:
        """Add one problem of some rows; no rows, no problem."""
        at = np.asarray(rows, dtype=np.intp)
        if len(at):
            lines = self._lines[at]
            where = f"{line_ranges(lines, counted=self._counted)}, {place}"
            self._rows.append(at)
            self._found.append(
                (int(lines.min()), Problem(place=where, value=value, says=says, remedy=remedy))
            )

    def add_to_all(self, place: str, value: str, says: str, remedy: str) -> None:
        """Add a problem of the file as a whole."""
        self._found.append((0, Problem(place=place, value=value, says=says, remedy=remedy)))

    def about_texts(self, place: str, column: Column) -> None:
        """Add a problem for each text of a column that means nothing."""
        for position, (text, meaning) in enumerate(zip(column.texts, column.meanings, strict=True)):
            if meaning.remedy is not None:
                rows = np.flatnonzero(column.text_of == position)
                says = "is not understood" if text else "is empty"
                self.add(rows, place, text, says, meaning.remedy)


def line_ranges(lines: NDArray[np.int64], *, counted: str = "line") -> str:
    """Return line numbers as text, runs of them drawn together: ``lines 3 to 7, 12``."""
    numbers = np.unique(lines)
    breaks = np.flatnonzero(np.diff(numbers) > 1) + 1
    runs = [(int(run[0]), int(run[-1])) for run in np.split(numbers, breaks)]
    texts = [str(low) if low == high else f"{low} to {high}" for low, high in runs]
    return f"{counted}{'' if len(numbers) == 1 else 's'} {', '.join(texts)}"
