"""Candidates and examiners as they were pasted or uploaded: every line that is wrong, told at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from fabella.errors import Problems, suggestion
from fabella.exam import Candidate, Examiner
from fabella.web.examining.day_plan import Plan
from fabella.web.examining.table_text import read_rows
from fabella.web.forms import typed_whole
from fabella.web.tables import Row

CANDIDATES: Final = "candidates"
EXAMINERS: Final = "examiners"
"""Name the papers that keep them, as they were typed."""

COLUMNS: Final = {
    CANDIDATES: ("candidate", "extra time", "conflicts", "site"),
    EXAMINERS: ("examiner", "stations", "site", "reserve", "away"),
}
"""The columns of each list; the first has to be there."""

MOST_PEOPLE: Final = 2000
_YES, _NO = ("yes", "y", "true", "1", "x", "reserve"), ("", "no", "n", "false", "0", "-")


@dataclass(frozen=True, slots=True, kw_only=True)
class People:
    """Who is there on the day."""

    candidates: tuple[Candidate, ...]
    examiners: tuple[Examiner, ...]


def read_people(candidates: str, examiners: str, *, stations: Sequence[str], plan: Plan | None) -> People:
    """Return who stands in two texts; `InputError` lists everything wrong with either, with line numbers.

    Parameters
    ----------
    candidates, examiners
        Tables with a head, their columns parted by commas, semicolons or tabs; or names alone, a line each.
    stations
        Ids of the exam's stations; where there are none yet, any is taken as meant.
    plan
        Whose circuits and rounds may be named; None before there is one, when any is taken as meant.
    """
    problems = Problems()
    reader = _Reader(problems, stations, plan)
    examiner_rows = read_rows(EXAMINERS, examiners, COLUMNS[EXAMINERS], problems)
    candidate_rows = read_rows(CANDIDATES, candidates, COLUMNS[CANDIDATES], problems)
    names = [row.cell("examiner") for row in examiner_rows]
    found = People(
        candidates=tuple(reader.candidate(row, names) for row in candidate_rows),
        examiners=tuple(reader.examiner(row) for row in examiner_rows),
    )
    for place, people in ((CANDIDATES, found.candidates), (EXAMINERS, found.examiners)):
        if len(people) > MOST_PEOPLE:
            problems.add(place, str(len(people)), "are too many", f"divide the exam: at most {MOST_PEOPLE}")
    problems.raise_any()
    return found


@dataclass(frozen=True, slots=True)
class _Reader:
    """Makes people of rows; what is wrong is added to its problems."""

    problems: Problems
    stations: Sequence[str]
    plan: Plan | None

    def candidate(self, row: Row, examiners: Sequence[str]) -> Candidate:
        return Candidate(
            id=row.cell("candidate"),
            extra_share=self._share(row),
            conflicts=self._known(row, "conflicts", examiners),
            circuits=self._circuits(row),
        )

    def examiner(self, row: Row) -> Examiner:
        return Examiner(
            id=row.cell("examiner"),
            stations=self._known(row, "stations", self.stations)
            if self.stations
            else _names(row, "stations"),
            circuits=self._circuits(row),
            away=frozenset(self._away(row)),
            reserve=self._flag(row),
        )

    def _known(self, row: Row, column: str, allowed: Sequence[str]) -> frozenset[str]:
        by_folded = {each.casefold(): each for each in allowed}
        found = _names(row, column)
        for each in sorted(found):
            if each.casefold() not in by_folded:
                self._wrong(row, column, each, "is not known", suggestion(each, allowed))
        return frozenset(by_folded[each.casefold()] for each in found if each.casefold() in by_folded)

    def _circuits(self, row: Row) -> frozenset[str]:
        names, plan = _names(row, "site"), self.plan
        if plan is None:
            return names
        found = {each: plan.circuits_at(each) for each in names}
        for each in sorted(name for name, circuits in found.items() if not circuits):
            self._wrong(row, "site", each, "is no site and no circuit", suggestion(each, plan.names))
        return frozenset().union(*found.values())

    def _share(self, row: Row) -> float:
        text = row.cell("extra time").replace("%", "").replace(",", ".").strip()
        try:
            number = float(text) if text else 0.0
        except ValueError:
            number = -1.0
        share = number / 100 if number > 1 or "%" in row.cell("extra time") else number
        if 0 <= share <= 1:
            return share
        self._wrong(row, "extra time", row.cell("extra time"), "is no share", "write 0 to 100 %")
        return 0.0

    def _away(self, row: Row) -> Iterable[int]:
        rounds = len(self.plan.pauses_min) if self.plan else 40
        for each in sorted(_names(row, "away")):
            if 1 <= (turn := typed_whole(each)) <= rounds:
                yield turn - 1
            else:
                self._wrong(row, "away", each, "is no round of the day", f"write rounds from 1 to {rounds}")

    def _flag(self, row: Row) -> bool:
        text = row.cell("reserve").casefold()
        if text not in (*_YES, *_NO):
            self._wrong(row, "reserve", text, "is not understood", "write yes, or leave it empty")
        return text in _YES

    def _wrong(self, row: Row, column: str, value: str, says: str, remedy: str) -> None:
        self.problems.add(f"{row.place}, {column}", value, says, remedy)


def _names(row: Row, column: str) -> frozenset[str]:
    return frozenset(row.parts(column))


def with_away(text: str, name: str, away: Iterable[int]) -> str:
    """Return the table of examiners with the rounds, counted from 0, in which one of them is away."""
    rows = read_rows(EXAMINERS, text, COLUMNS[EXAMINERS], Problems())
    told = "; ".join(str(each + 1) for each in sorted(away))
    return _written(
        rows, lambda row: {**row.cells, **({"away": told} if row.cell("examiner") == name else {})}
    )


def _written(rows: Iterable[Row], cells: Callable[[Row], dict[str, str]]) -> str:
    columns = COLUMNS[EXAMINERS]
    lines = [",".join(columns)]
    for row in rows:
        own = cells(row)
        lines.append(",".join(_quoted(own.get(column, "")) for column in columns))
    return "\n".join(lines) + "\n"


def _quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if any(each in cell for each in ',"\n') else cell
