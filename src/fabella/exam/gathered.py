"""Mark sheets handed over to the analysis of marks, by stated rules for what was never written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType

from fabella import assess
from fabella.assess import State
from fabella.errors import InputError, Problem
from fabella.exam.blueprints import blueprint_of
from fabella.exam.sheet import Mark, Sheet
from fabella.exam.stations import Station


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One sheet with whose it is; ``circuit`` is the candidate's."""

    candidate: str
    station: str
    examiner: str
    circuit: str
    sheet: Sheet


def marks_of(
    stations: Sequence[Station],
    sheets: Iterable[Written],
    *,
    weights: Mapping[str, float] = MappingProxyType({}),
) -> assess.Marks:
    """Return the marks of an exam.

    A sheet that nobody wrote on means that the candidate was absent, unless another examiner wrote one for
    them at the same station: then it was not wanted. On a written sheet an item without a mark, or a grade
    that is missing, was not observed; a mark of 0 is what was not done.

    Parameters
    ----------
    stations
        In the order of the exam.
    sheets
        Every sheet that was wanted or written.
    weights
        As of `blueprint_of`.

    Raises
    ------
    InputError
        When no sheet was written, or sheets contradict their stations.
    """
    found = list(sheets)
    there = {(each.candidate, each.station) for each in found if each.sheet.number}
    if not there:
        remedy = "mark first"
        raise InputError([Problem(place="sheets", value="", says="are all empty", remedy=remedy)])
    known = {each.id: each for each in stations}
    rows = [
        row
        for each in found
        if each.sheet.number or (each.candidate, each.station) not in there
        for row in _rows(each, known[each.station])
    ]
    names = (*assess.REQUIRED, *assess.OPTIONAL)
    columns = {name: [row[name] for row in rows] for name in names}
    return assess.gather(
        columns, lines=range(1, len(rows) + 1), blueprint=blueprint_of(stations, weights=weights)
    )


def _rows(written: Written, station: Station) -> list[dict[str, str]]:
    sheet = written.sheet
    whose = {
        "candidate": written.candidate,
        "circuit": written.circuit,
        "station": written.station,
        "examiner": written.examiner,
        "started": _moment(sheet.began),
        "finished": _moment(sheet.ended),
        "timed_out": "",
    }
    if not sheet.number:
        absent = State.ABSENT.word
        return [{**whose, "item": "", "mark": absent, "global": absent}]
    grade = State.NOT_OBSERVED.word if sheet.grade is None else str(sheet.grade)
    return [
        {**whose, "item": item.id, "mark": _mark(sheet.marks.get(item.id)), "global": grade}
        for item in station.items
    ]


def _mark(mark: Mark | None) -> str:
    if mark is None:
        return State.NOT_OBSERVED.word
    return str(mark) if mark else State.NOT_DONE.word


def _moment(at: datetime | None) -> str:
    return "" if at is None else at.isoformat()
