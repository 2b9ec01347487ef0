"""The day as its lead watches it: who is where now, how sheets stand, and what can still be mended."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from math import nan

from fabella.exam import (
    Bell,
    How,
    Phase,
    Silent,
    Station,
    Timetable,
    WatchedSheet,
    alike,
    behind,
    bell_at,
    clock,
    overdue,
    silent,
)
from fabella.store import Actor
from fabella.store.exams.attending import attendance_of
from fabella.store.exams.codes import Kind, ever_coded
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import KeptExam
from fabella.store.exams.papers import timetable_of
from fabella.store.exams.sheets import KeptSheet, readable_sheets
from fabella.store.exams.stations import readable_stations
from fabella.store.exams.typing_in import typists_of
from fabella.web.marking.sheet_lines import SHAPES, SheetLine, sheet_line, stands
from fabella.web.marking.times import minutes
from fabella.web.marking.wording import HOW_WORDS, away_words, bell_words

_SELDOM = (How.AWAY, How.INSTEAD, How.VOID)
"""Not counted where there are none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """A place of a circuit now: ``line`` is None where nobody is, or somebody rests."""

    place: str
    candidate: str
    examiner: str
    line: SheetLine | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ExaminerLine:
    """How far an examiner has come, with all their sheets; ``lines`` is None where nobody reads them."""

    examiner: str
    words: str
    lines: tuple[SheetLine, ...] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """Everything that is shown of a day; each list is empty when there is nothing to say.

    ``unread`` says of each station that cannot be read why not; its sheets are in no other list.
    """

    bell: str
    unread: tuple[str, ...]
    counts: tuple[tuple[str, str, int], ...]
    disputes: tuple[SheetLine, ...]
    left_open: tuple[SheetLine, ...]
    void: tuple[SheetLine, ...]
    away: tuple[tuple[str, str], ...]
    contradicted: tuple[SheetLine, ...]
    overdue: tuple[SheetLine, ...]
    silent: tuple[str, ...]
    alike: tuple[str, ...]
    behind: tuple[str, ...]
    circuits: tuple[tuple[str, tuple[Post, ...]], ...]
    examiners: tuple[ExaminerLine, ...]


def watched(actor: Actor, exam: KeptExam, now: datetime, *, opened: Collection[str] | None = None) -> Watched:
    """Return how the day of an exam stands, with the sheets of examiners whose list is open; None: of all."""
    found, table = readable_stations(exam.id), timetable_of(exam.id)
    stations, every = found.read, readable_sheets(actor, exam.id, found.unread)
    kept = tuple(each for each in every if each.key.station in stations)
    now_min = minutes(exam.day, now)
    sheets = [_watched(exam, each, stations[each.key.station]) for each in kept]
    by_key = {each.key: each for each in kept}

    def told(those: Iterable[KeptSheet]) -> tuple[SheetLine, ...]:
        return tuple(sheet_line(each, stations[each.key.station]) for each in those)

    counts = Counter(each.how for each in sheets)
    bell = None if table is None else bell_at(table.day, now_min)
    grace_min = 0.0 if table is None else table.day.change_min  # until the next candidate comes
    return Watched(
        bell="There is no timetable." if bell is None else bell_words(bell, now_min),
        unread=tuple(found.unread.values()),
        counts=tuple(
            (SHAPES[how], HOW_WORDS[how], counts[how])
            for how in reversed(How)
            if how not in _SELDOM or counts[how]
        ),
        disputes=told(each for each in kept if not all(one.left for one in each.sheet.disputes)),
        left_open=told(
            each for each in kept if each.sheet.disputes and all(one.left for one in each.sheet.disputes)
        ),
        void=told(each for each in kept if each.sheet.is_void),
        contradicted=told(each for each in kept if each.away and not each.is_excused),
        away=tuple(
            (name, f"{away_words(each)}: {each.why}") for name, each in sorted(attendance_of(exam.id).items())
        ),
        overdue=told(
            by_key[SheetKey(candidate=each.candidate, station=each.station, examiner=each.examiner)]
            for each in overdue(sheets, now_min - grace_min)
        ),
        silent=tuple(
            map(_silent, silent(sheets, now_min - grace_min, with_code=ever_coded(exam.id, Kind.EXAMINER)))
        ),
        alike=tuple(
            f"{each.examiner} gave all {each.number} candidates the grade {_grade(each.grade, stations)}"
            for each in alike(sheets)
        ),
        behind=tuple(
            f"{each.examiner} finishes {each.late_min:.0f} min after the bell (median of {each.number})"
            for each in behind(sheets)
        ),
        circuits=() if table is None or bell is None else tuple(_circuits(table, bell, stations, by_key)),
        examiners=tuple(
            ExaminerLine(
                examiner=name,
                words=_counted(how for how, _ in own),
                lines=None if opened is not None and name not in opened else told(each for _, each in own),
            )
            for name, own in _by_examiner(sheets, kept)
        ),
    )


def _silent(it: Silent) -> str:
    last = "" if it.last_min is None else f"; the last sheet was finished at {clock(it.last_min)}"
    return f"{it.examiner}: of the last {it.number} candidates whose bell has gone{last}"


def _watched(exam: KeptExam, kept: KeptSheet, station: Station) -> WatchedSheet:
    stop, sheet = kept.planned.stop if kept.planned else None, kept.sheet
    ended = sheet.ended if sheet.finished else None
    return WatchedSheet(
        candidate=kept.key.candidate,
        station=kept.key.station,
        examiner=kept.key.examiner,
        ends_min=stop.ends_min if stop else nan,
        finished_min=minutes(exam.day, ended) if ended and not typists_of(sheet) else None,
        sheet=sheet,
        how=stands(kept, station),
        on_paper=bool(typists_of(sheet)),
    )


def _circuits(
    table: Timetable, bell: Bell, stations: Mapping[str, Station], kept: Mapping[SheetKey, KeptSheet]
) -> Iterable[tuple[str, tuple[Post, ...]]]:
    """Yield each circuit with its places; before a round, who begins there, and after the day nothing."""
    if bell.phase is Phase.AFTER:
        return
    places = table.day.places
    here = {
        (seat.circuit, (seat.first + bell.step) % len(places)): seat.candidate
        for seat in table.seats
        if seat.turn == bell.turn
    }
    for circuit in table.day.circuits:
        posts = []
        for number, name in enumerate(places):
            candidate = here.get((circuit, number), "")
            examiners = table.examiners_at(bell.turn, circuit, name) if name else ("",)
            for examiner in examiners or ("",):
                key = SheetKey(candidate=candidate, station=name or "", examiner=examiner)
                title = stations[name].title if name and name in stations else name
                line = sheet_line(kept[key], stations[key.station]) if key in kept else None
                posts.append(Post(place=title or "Rest", candidate=candidate, examiner=examiner, line=line))
        yield circuit, tuple(posts)


def _by_examiner(
    sheets: Iterable[WatchedSheet], kept: Iterable[KeptSheet]
) -> list[tuple[str, list[tuple[How, KeptSheet]]]]:
    own: dict[str, list[tuple[How, KeptSheet]]] = defaultdict(list)
    for one, each in zip(sheets, kept, strict=True):
        own[each.key.examiner].append((one.how, each))
    return sorted(own.items(), key=lambda item: item[0])


def _counted(hows: Iterable[How]) -> str:
    counts = Counter(hows)
    return ", ".join(f"{counts[each]} {HOW_WORDS[each]}" for each in reversed(How) if counts[each])


def _grade(code: int, stations: Mapping[str, Station]) -> str:
    grades = (each for station in stations.values() for each in station.grades)
    return next((each.name for each in grades if each.code == code), str(code))
