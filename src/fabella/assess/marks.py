"""The marks of an exam as arrays of codes: one row a mark sheet, one row an item mark.

A sheet is one candidate at one station marked by one examiner. Two examiners at a station make two sheets.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from hashlib import sha256

import numpy as np
from numpy.typing import NDArray

from fabella.assess.blueprint import Blueprint

Codes = NDArray[np.int32]
Numbers = NDArray[np.float64]


class State(IntEnum):
    """What stands in a cell of a mark sheet; only ``not_done`` is worth 0, the others say why no mark is.

    ``not_observed``: the examiner did not see; ``not_offered``: the candidate was not given the chance;
    ``station_void``: the station broke down; ``absent``: the candidate was not there; ``not_reached``: the
    bell came first, which the rules may count as not done.
    """

    MARKED = 0
    NOT_DONE = 1
    NOT_OBSERVED = 2
    NOT_OFFERED = 3
    STATION_VOID = 4
    ABSENT = 5
    NOT_REACHED = 6

    @property
    def word(self) -> str:
        """Return the word for it in a file of marks."""
        return self.name.lower()


MISSING = (State.NOT_OBSERVED, State.NOT_OFFERED, State.STATION_VOID, State.ABSENT, State.NOT_REACHED)
UNHELD = (State.STATION_VOID, State.ABSENT)
WHOLE_STATION = (State.NOT_OFFERED, State.STATION_VOID, State.ABSENT)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Marks:
    """All marks of an exam.

    Rows stand in one order whatever the order of the file: sheets by candidate, station and examiner, marks
    by sheet and item. All arrays are read-only.

    Parameters
    ----------
    blueprint
        Stations, items and grades.
    candidates, circuits, examiners
        Codes, sorted; the arrays below hold positions in these.
    candidate, circuit, station, examiner
        One entry a sheet, shape (sheets,).
    grade
        Global grade of the sheet [grade], shape (sheets,); NaN when none was given.
    started_s, finished_s
        When the sheet was begun and finished, shape (sheets,) [s from any common zero]; NaN when unknown.
    timed_out
        True where the bell cut the candidate off, shape (sheets,).
    sheet, item
        Position of the sheet, and of the item in `item_table`; one entry an item mark, shape (marks,). Every
        sheet holds every item of its station exactly once.
    mark
        The mark [marks], from 0 to the item's maximum, shape (marks,); NaN when missing.
    state
        A `State` an item mark, shape (marks,).
    """

    blueprint: Blueprint
    candidates: tuple[str, ...]
    circuits: tuple[str, ...]
    examiners: tuple[str, ...]
    candidate: Codes
    circuit: Codes
    station: Codes
    examiner: Codes
    grade: Numbers
    started_s: Numbers
    finished_s: Numbers
    timed_out: NDArray[np.bool_]
    sheet: Codes
    item: Codes
    mark: Numbers
    state: NDArray[np.uint8]

    def __post_init__(self) -> None:
        for array in self.arrays():
            array.setflags(write=False)

    def arrays(self) -> tuple[NDArray[np.generic], ...]:
        """Return every array, in the order of the parameters."""
        of_sheets = (self.candidate, self.circuit, self.station, self.examiner)
        of_times = (self.grade, self.started_s, self.finished_s, self.timed_out)
        return (*of_sheets, *of_times, self.sheet, self.item, self.mark, self.state)

    @property
    def n_candidates(self) -> int:
        """Return how many candidates there are."""
        return len(self.candidates)

    @property
    def n_stations(self) -> int:
        """Return how many stations the exam has."""
        return len(self.blueprint.stations)

    @property
    def n_sheets(self) -> int:
        """Return how many mark sheets there are."""
        return len(self.candidate)


def digest(marks: Marks) -> str:
    """Return the SHA-256 of everything in the marks, in hexadecimal: equal marks, equal digest.

    It does not depend on the order of rows in the file the marks were read from, nor on the machine.
    """
    hashed = sha256(repr((marks.blueprint, marks.candidates, marks.circuits, marks.examiners)).encode())
    for array in marks.arrays():
        little = array.astype(array.dtype.newbyteorder("<"))
        hashed.update(f"{little.dtype.str}{little.shape}".encode())
        hashed.update(little.tobytes())
    return hashed.hexdigest()


def candidate_circuit(marks: Marks) -> Codes:
    """Return each candidate's circuit, shape (candidates,); -1 for one who was marked in several."""
    lowest = np.full(marks.n_candidates, len(marks.circuits), dtype=np.int32)
    highest = np.full(marks.n_candidates, -1, dtype=np.int32)
    np.minimum.at(lowest, marks.candidate, marks.circuit)
    np.maximum.at(highest, marks.candidate, marks.circuit)
    return np.where(lowest == highest, lowest, -1).astype(np.int32)
