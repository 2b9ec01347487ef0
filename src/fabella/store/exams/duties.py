"""Whose sheets are whose: an examiner's are of their duties in the timetable, and of no other station."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from fabella.exam import Stop
from fabella.store.exams.papers import read_kept_timetable, timetable_texts


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


def planned(exam_id: int, *, examiner: str | None = None) -> tuple[Planned, ...]:
    """Return every sheet that the timetable wants, in order of time; one examiner's alone if named."""
    texts = timetable_texts(exam_id)
    found = _planned(texts[0]) if texts and texts[0] else ()
    return tuple(each for each in found if examiner is None or each.key.examiner == examiner)


def ever_planned(exam_id: int) -> frozenset[SheetKey]:
    """Return every sheet of any version of the timetable: what was marked before it changed is not lost."""
    return frozenset().union(*map(_keys, timetable_texts(exam_id)))


@lru_cache(maxsize=20)
def _planned(text: str) -> tuple[Planned, ...]:
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
