"""Mark sheets handed over to the analysis of marks, by stated rules for what was never written."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType

from fabella import assess
from fabella.assess import State
from fabella.errors import InputError
from fabella.exam.blueprints import blueprint_of
from fabella.exam.sheet import Mark, Sheet
from fabella.exam.sheet_events import Missing
from fabella.exam.stations import Station


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One sheet with whose it is; ``circuit`` is the candidate's.

    ``is_away``: the lead has said that the candidate was not there then. ``is_annulled``: its station counts
    for nobody, whatever stands there.
    """

    candidate: str
    station: str
    examiner: str
    circuit: str
    sheet: Sheet
    is_away: bool = False
    is_annulled: bool = False


def marks_of(
    stations: Sequence[Station],
    sheets: Iterable[Written],
    *,
    weights: Mapping[str, float] = MappingProxyType({}),
) -> assess.Marks:
    """Return the marks of an exam.

    A sheet of a station that was annulled is one of a station that was not held, but for who never came.
    A sheet that nobody judged anything on is a station that was not held if the lead has called it void; an
    absence if the lead has said so, or if there is none of that candidate that anybody wrote on or that is
    void; where another examiner wrote one for them at the same station it was not wanted; else it is missing,
    and all its items were not observed. On a written sheet an item without a mark
    or in a dispute that was left open, or a grade that is missing, was not observed; a mark of 0 is what was
    not done. A sheet with an item that was not reached was cut off by the bell.

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
    there = {(each.candidate, each.station) for each in found if not each.sheet.is_blank}
    came = {each.candidate for each in found if each.sheet.is_void or not each.sheet.is_blank}
    if not there:
        raise InputError.of(place="sheets", says="are all empty", remedy="mark first")
    known = {each.id: each for each in stations}
    rows = [
        row
        for each in found
        if not each.sheet.is_blank or (each.candidate, each.station) not in there
        for row in _rows(each, known[each.station], is_absent=_is_absent(each, came))
    ]
    names = (*assess.REQUIRED, *assess.OPTIONAL)
    columns = {name: [row[name] for row in rows] for name in names}
    return assess.gather(
        columns, lines=range(1, len(rows) + 1), blueprint=blueprint_of(stations, weights=weights)
    )


def _is_absent(written: Written, came: Collection[str]) -> bool:
    """Say whether an empty sheet is an absence: at a station that was annulled only of who never came."""
    return written.candidate not in came or (written.is_away and not written.is_annulled)


def _rows(written: Written, station: Station, *, is_absent: bool) -> list[dict[str, str]]:
    sheet = written.sheet
    whose = {
        "candidate": written.candidate,
        "circuit": written.circuit,
        "station": written.station,
        "examiner": written.examiner,
        "started": _moment(sheet.began),
        "finished": _moment(sheet.ended),
        "timed_out": "yes" if Missing.NOT_REACHED in sheet.marks.values() else "",
    }
    is_missed = sheet.is_blank and is_absent and not sheet.is_void
    if sheet.is_void or is_missed or written.is_annulled:
        why = State.ABSENT.word if is_missed else State.STATION_VOID.word
        return [{**whose, "item": "", "mark": why, "global": why}]
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
