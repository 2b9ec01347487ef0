"""The stations of an exam as they hold: all of them, or those that can be read and why others cannot."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fabella.errors import Problems
from fabella.exam import Station, faults
from fabella.store.exams.papers import STATION, TIMETABLE, KeptPaper, holding, station_in, timetable_of
from fabella.store.refusals import Unreadable


@dataclass(frozen=True, slots=True, kw_only=True)
class Stations:
    """Stations by id: ``read`` could be read, ``unread`` says of each other one what is wrong with it."""

    read: Mapping[str, Station]
    unread: Mapping[str, str]


def readable_stations(exam_id: int) -> Stations:
    """Return the stations that hold, for whoever may mark or lead."""
    return read_stations(holding(exam_id, name__startswith=STATION))


def read_stations(papers: Iterable[KeptPaper]) -> Stations:
    """Return the stations that papers hold: one that is unreadable costs no other."""
    read, unread = dict[str, Station](), dict[str, str]()
    for paper in papers:
        name = paper.name.removeprefix(STATION)
        try:
            read[name] = station_in(paper)
        except Unreadable as error:
            unread[name] = str(error)
    return Stations(read=read, unread=unread)


def stations_of(exam_id: int) -> Mapping[str, Station]:
    """Return every station as it holds, by id, for what rests on all; raise `Unreadable` where one is."""
    found = readable_stations(exam_id)
    if found.unread:
        raise Unreadable("\n".join(found.unread.values()))
    return found.read


def unready(exam_id: int) -> Problems:
    """Return what is wanting before an exam can be opened."""
    table, found = timetable_of(exam_id), Problems()
    if table is None:
        found.add(TIMETABLE, "", "is not there", "make one")
        return found
    for each in faults(table):
        found.add(TIMETABLE, "", each, "make it anew")
    written = stations_of(exam_id)
    for name in table.day.stations:
        if name not in written:
            found.add("station", name, "is not written", "write it")
    return found
