"""Bind rows into mark sheets, and complain of what only a whole sheet can show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.assess.blueprint import Blueprint, item_table
from fabella.assess.cell_texts import GRADE_BLANK, GRADE_MISSING, Column
from fabella.assess.complaints import Complaints
from fabella.assess.marks import MISSING, UNHELD, Codes, Marks, Numbers

Places = NDArray[np.intp]

_WORDS = ", ".join(state.word for state in MISSING)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Filled:
    """The rows of a file that have a place.

    ``rows`` are their positions in the file. ``item`` is -1 where a row stands for a whole station.
    ``disturbed``, shape (candidates, stations), is true where a row was already complained of.
    """

    rows: Places
    disturbed: NDArray[np.bool_]
    candidates: tuple[str, ...]
    circuits: tuple[str, ...]
    examiners: tuple[str, ...]
    candidate: Codes
    circuit: Codes
    station: Codes
    examiner: Codes
    item: Codes
    columns: Mapping[str, Column]


def bind_sheets(filled: Filled, blueprint: Blueprint, complaints: Complaints) -> Marks:
    """Return the marks that the rows hold; they are whole only if nothing was complained of."""
    return _Binding(filled, blueprint, complaints).marks()


class _Binding:
    def __init__(self, filled: Filled, blueprint: Blueprint, complaints: Complaints) -> None:
        self.filled, self.blueprint, self.complaints = filled, blueprint, complaints
        self.table = item_table(blueprint)
        shape = (len(filled.candidates), len(blueprint.stations), max(len(filled.examiners), 1))
        key = np.ravel_multi_index((filled.candidate, filled.station, filled.examiner), shape)
        _, first, sheet = np.unique(key, return_index=True, return_inverse=True)
        self.first, self.sheet, self.n = first, sheet.astype(np.int32), len(first)
        self.candidate, self.station = filled.candidate[first], filled.station[first]
        self.disturbed = filled.disturbed[self.candidate, self.station]
        self.whole = filled.item < 0
        self.check_items()

    def complain(self, at: Places, place: str, says: str, remedy: str, *, value: str = "") -> None:
        self.complaints.add(self.filled.rows[at], place, value, says, remedy)

    def check_items(self) -> None:
        """Complain of double marks, and of sheets that do not hold every item of their station."""
        cell = self.sheet.astype(np.int64) * (len(self.table.codes) + 1) + self.filled.item
        _, inverse, counts = np.unique(cell, return_inverse=True, return_counts=True)
        for repeated in np.flatnonzero(counts > 1):
            at = np.flatnonzero(inverse == repeated)
            texts = self.filled.columns["mark"].text_at(at)
            self.complain(at, "mark", f"is a double mark of {self.what(at[0])}", "keep one", value=texts)
        listed = np.bincount(self.sheet[~self.whole], minlength=self.n)
        voided = np.bincount(self.sheet[self.whole], minlength=self.n) > 0
        for sheet in np.flatnonzero(voided & (listed > 0)):
            at = np.flatnonzero((self.sheet == sheet) & self.whole)
            self.complain(at, "item", "is missing although items are marked", "name the item")
        n_items = np.diff(self.table.first)[self.station]
        for sheet in np.flatnonzero(~voided & ~self.disturbed & (listed < n_items)):
            at = np.flatnonzero(self.sheet == sheet)
            items = range(*self.table.first[self.station[sheet] : self.station[sheet] + 2].tolist())
            gone = sorted(set(items) - set(self.filled.item[at].tolist()))
            names = ", ".join(self.table.codes[item] for item in gone)
            says = f"sheet of {self.who(at[0])} lacks {names}"
            remedy = f"is the file cut short? a mark that is missing is {_WORDS}"
            if gone:  # else a double mark, already said
                self.complain(at[-1:], "item", says, remedy)

    def one_each(self, place: str, codes: NDArray[np.int64], blank: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Return the one value that the rows of each sheet agree on, -1 where all are blank."""
        low, high = np.full(self.n, np.iinfo(np.int64).max), np.full(self.n, -1, dtype=np.int64)
        np.minimum.at(low, self.sheet[~blank], codes[~blank])
        np.maximum.at(high, self.sheet[~blank], codes[~blank])
        for sheet in np.flatnonzero((high >= 0) & (low != high)):
            at = np.flatnonzero((self.sheet == sheet) & ~blank)
            self.complain(at, place, "differs within one sheet", "one sheet has one value")
        return high

    def check_circuits(self, circuit: NDArray[np.int64]) -> None:
        """Complain of candidates who sat one station in two circuits: two people who share a name.

        A station that broke down in one circuit may be sat in another.
        """
        filled, n_stations = self.filled, len(self.blueprint.stations)
        unheld = np.isin(filled.columns["mark"].codes, UNHELD)
        held = np.flatnonzero(np.bincount(self.sheet[~unheld], minlength=self.n) > 0)
        place = self.candidate[held].astype(np.int64) * n_stations + self.station[held]
        low = np.full(len(filled.candidates) * n_stations, len(filled.circuits), dtype=np.int64)
        high = np.full(len(low), -1, dtype=np.int64)
        np.minimum.at(low, place, circuit[held])
        np.maximum.at(high, place, circuit[held])
        twice = held[(low < high)[place]]
        for candidate in np.unique(self.candidate[twice]):
            sheets = twice[self.candidate[twice] == candidate]
            names = ", ".join(filled.circuits[each] for each in np.unique(circuit[sheets]))
            at = np.flatnonzero(np.isin(self.sheet, sheets))
            says = f"sat the same station in more than one circuit ({names})"
            remedy = "are they two people of one name? give each a name or number of their own"
            self.complain(at, "candidate", says, remedy, value=filled.candidates[candidate])

    def grades(self) -> Numbers:
        column = self.filled.columns["global"]
        found = self.one_each("global", column.codes, column.codes == GRADE_BLANK)
        ungraded = np.isin(self.sheet, np.flatnonzero((found < 0) & ~self.disturbed))
        remedy = f"write it on a row of each sheet, or why there is none: {_WORDS}"
        self.complain(np.flatnonzero(ungraded), "global", "grade is missing", remedy)
        values = np.array([np.nan, *self.blueprint.grades.values])
        return np.asarray(values[np.maximum(found, GRADE_MISSING)], dtype=np.float64)

    def times(self, place: str) -> Numbers:
        column = self.filled.columns[place]
        chosen = self.one_each(place, column.text_of, np.isnan(column.numbers))
        return np.where(chosen < 0, np.nan, column.number_of_text[np.maximum(chosen, 0)])

    def who(self, row: int) -> str:
        filled = self.filled
        station = self.blueprint.station_codes[filled.station[row]]
        candidate, examiner = filled.candidates[filled.candidate[row]], filled.examiners[filled.examiner[row]]
        return f"'{candidate}' at '{station}' by '{examiner}'"

    def what(self, row: int) -> str:
        item = self.filled.item[row]
        of = f"item '{self.table.codes[item]}'" if item >= 0 else "the whole station"
        return f"{of} of {self.who(row)}"

    def marks(self) -> Marks:
        filled = self.filled
        circuit = self.one_each("circuit", filled.circuit.astype(np.int64), np.zeros(len(self.sheet), bool))
        self.check_circuits(circuit)
        late = filled.columns["timed_out"].codes
        started, finished = self.times("started"), self.times("finished")
        backwards = np.isin(self.sheet, np.flatnonzero(finished < started))
        self.complain(np.flatnonzero(backwards), "finished", "is before the start", "write the later time")
        sheet, item, mark, state = self.spread()
        order = np.lexsort((item, sheet))
        return Marks(
            blueprint=self.blueprint,
            candidates=filled.candidates,
            circuits=filled.circuits,
            examiners=filled.examiners,
            candidate=self.candidate,
            circuit=circuit.astype(np.int32),
            station=self.station,
            examiner=filled.examiner[self.first],
            grade=self.grades(),
            started_s=started,
            finished_s=finished,
            timed_out=self.one_each("timed_out", late, late < 0) > 0,
            sheet=sheet[order].astype(np.int32),
            item=item[order].astype(np.int32),
            mark=mark[order],
            state=state[order].astype(np.uint8),
        )

    def spread(self) -> tuple[Codes, Codes, Numbers, NDArray[np.int64]]:
        """Return sheet, item, mark and state of each mark, whole stations spread over their items."""
        column, kept, whole = self.filled.columns["mark"], ~self.whole, self.whole
        lengths = np.diff(self.table.first)[self.station[self.sheet[whole]]]
        sheet = np.repeat(self.sheet[whole], lengths)
        within = np.arange(len(sheet)) - np.repeat(np.cumsum(lengths) - lengths, lengths)
        item = (self.table.first[self.station[sheet]] + within).astype(np.int32)
        return (
            np.concatenate([self.sheet[kept], sheet]),
            np.concatenate([self.filled.item[kept], item]),
            np.concatenate([column.numbers[kept], np.full(len(sheet), np.nan)]),
            np.concatenate([column.codes[kept], np.repeat(column.codes[whole], lengths)]),
        )
