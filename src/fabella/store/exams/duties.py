"""Whose sheets are whose: an examiner's are of their duties in the timetable, and of no other station."""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from fabella.exam import Stop
from fabella.store.exams.paper_texts import read_kept_timetable
from fabella.store.exams.papers import timetable_texts
from fabella.store.kept import reading_kept


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class SheetKey:
    """One mark sheet: one candidate at one station, by one examiner."""

    candidate: str
    station: str
    examiner: str

    @property
    def parts(self) -> tuple[str, str, str]:
        """Candidate, station and examiner."""
        return self.candidate, self.station, self.examiner


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A sheet as the timetable wants it: in which round, counted from 0, and where and when."""

    key: SheetKey
    turn: int
    stop: Stop


@dataclass(frozen=True, slots=True)
class Duties:
    """What every version of a timetable wants, given their texts, the latest first."""

    texts: tuple[str, ...]

    @property
    def planned(self) -> tuple[Planned, ...]:
        """Every sheet that the timetable wants, in order of time."""
        return _planned(self.texts[0]) if self.texts and self.texts[0] else ()

    @property
    def ever(self) -> frozenset[SheetKey]:
        """Every sheet of any version of the timetable: what was marked before it changed is not lost."""
        return frozenset().union(*map(_keys, self.texts))

    @property
    def circuits(self) -> Mapping[str, str]:
        """The circuit of every candidate, from the latest version that has them."""
        return ChainMap(*map(_circuits, self.texts))

    def shared(self, own: Iterable[Planned]) -> frozenset[str]:
        """Return who had to mark any of these candidates there, now or before, if anybody was relieved."""
        places = {(each.key.candidate, each.key.station) for each in own}
        there = {each for each in self.ever if (each.candidate, each.station) in places}
        if there <= {each.key for each in self.planned}:
            return frozenset()
        return frozenset(each.examiner for each in there)


def duties_of(exam_id: int) -> Duties:
    """Return what the timetable of an exam wants, and ever wanted."""
    return Duties(timetable_texts(exam_id))


def planned(exam_id: int) -> tuple[Planned, ...]:
    """Return every sheet that the timetable wants, in order of time."""
    return duties_of(exam_id).planned


def ever_planned(exam_id: int) -> frozenset[SheetKey]:
    """Return every sheet of any version of the timetable: what was marked before it changed is not lost."""
    return duties_of(exam_id).ever


@lru_cache(maxsize=20)
def _planned(text: str) -> tuple[Planned, ...]:
    with reading_kept("A version of the timetable"):
        table = read_kept_timetable(text)
    turn_of = {seat.candidate: seat.turn for seat in table.seats}
    found = [
        Planned(
            key=SheetKey(candidate=stop.candidate, station=stop.station, examiner=name), turn=turn, stop=stop
        )
        for stop in table.stops()
        if stop.station is not None
        for turn in (turn_of[stop.candidate],)
        for name in table.examiners_at(turn, stop.circuit, stop.station)
    ]
    return tuple(sorted(found, key=lambda each: (each.stop.begins_min, each.stop.circuit, each.key)))


@lru_cache(maxsize=20)
def _keys(text: str) -> frozenset[SheetKey]:
    return frozenset(each.key for each in _planned(text)) if text else frozenset()


@lru_cache(maxsize=20)
def _circuits(text: str) -> dict[str, str]:
    return {each.key.candidate: each.stop.circuit for each in _planned(text)} if text else {}
