"""The day as its lead watches it: who is where now, how sheets stand, and what can still be mended."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from math import nan

from fabella.exam import (
    Bell,
    How,
    Phase,
    Station,
    Timetable,
    WatchedSheet,
    alike,
    behind,
    bell_at,
    clock,
    how_of,
    overdue,
)
from fabella.report.wording import counted
from fabella.store import Actor
from fabella.store.exams.attending import attendance_of
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import KeptExam, exam_of
from fabella.store.exams.papers import timetable_of
from fabella.store.exams.sheets import KeptSheet, readable_sheets
from fabella.store.exams.stations import readable_stations
from fabella.store.exams.typing_in import typists_of
from fabella.web.marking.times import minutes
from fabella.web.marking.wording import HOW_WORDS, away_words, bell_words, disputes_words

SHAPES = {
    How.AWAY: "away",
    How.INSTEAD: "away",
    How.VOID: "void",
    How.NOT_BEGUN: "none",
    How.GOING: "part",
    How.HALF_EMPTY: "half",
    How.FINISHED: "full",
}

_SELDOM = (How.AWAY, How.INSTEAD, How.VOID)
"""Not counted where there are none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """A sheet in one line: how it stands as a shape and in words, and what is to be said of it."""

    key: SheetKey
    title: str
    shape: str
    words: str
    when: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """A place of a circuit now: ``line`` is None where nobody is, or somebody rests."""

    place: str
    candidate: str
    examiner: str
    line: SheetLine | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ExaminerLine:
    """How far an examiner has come, with all their sheets."""

    examiner: str
    words: str
    lines: tuple[SheetLine, ...]


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
    alike: tuple[str, ...]
    behind: tuple[str, ...]
    circuits: tuple[tuple[str, tuple[Post, ...]], ...]
    examiners: tuple[ExaminerLine, ...]


def watched(actor: Actor, exam_id: int, now: datetime) -> Watched:
    """Return how the day of an exam stands."""
    exam, found, table = exam_of(actor, exam_id), readable_stations(exam_id), timetable_of(exam_id)
    stations, every = found.read, readable_sheets(actor, exam_id, found.unread)
    kept = tuple(each for each in every if each.key.station in stations)
    now_min = minutes(exam.day, now)
    sheets = [_watched(exam, each, stations[each.key.station]) for each in kept]
    lines = {each.key: sheet_line(each, stations[each.key.station]) for each in kept}

    def told(those: Iterable[KeptSheet]) -> tuple[SheetLine, ...]:
        return tuple(lines[each.key] for each in those)

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
            (name, f"{away_words(each)}: {each.why}") for name, each in sorted(attendance_of(exam_id).items())
        ),
        overdue=tuple(
            lines[SheetKey(candidate=each.candidate, station=each.station, examiner=each.examiner)]
            for each in overdue(sheets, now_min - grace_min)
        ),
        alike=tuple(
            f"{each.examiner} gave all {each.number} candidates the grade {_grade(each.grade, stations)}"
            for each in alike(sheets)
        ),
        behind=tuple(
            f"{each.examiner} finishes {each.late_min:.0f} min after the bell (median of {each.number})"
            for each in behind(sheets)
        ),
        circuits=() if table is None or bell is None else tuple(_circuits(table, bell, stations, lines)),
        examiners=tuple(_examiners(kept, lines)),
    )


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
        how=_how(kept, station),
    )


def _how(kept: KeptSheet, station: Station) -> How:
    how = how_of(kept.sheet, station)
    if how is How.VOID or not kept.is_excused:
        return how
    return How.INSTEAD if kept.instead else How.AWAY


def sheet_line(kept: KeptSheet, station: Station) -> SheetLine:
    """Return a sheet in one line."""
    sheet, how = kept.sheet, _how(kept, station)
    done = len(station.items) - len(sheet.gaps(station))
    notes = disputes_words(sheet.disputes, station)
    if sheet.concern:
        notes.append(f"concern for safety: {sheet.concern}")
    if how in {How.GOING, How.HALF_EMPTY}:
        notes.append(
            f"{done} of {counted(len(station.items), 'item')} marked, "
            f"{'no global rating' if sheet.grade is None else 'the global rating given'}"
        )
    if sheet.void:
        notes.append(sheet.void if sheet.is_void else f"said to be lost ({sheet.void}), and yet marked")
    if kept.instead:
        notes.append(f"marked by {kept.instead}")
    if kept.away is not None:
        told = away_words(kept.away)
        notes.append(told if kept.is_excused else f"{told}, and yet somebody marked")
    if len(typists_of(sheet)) == 1:
        notes.append("typed in once; a second person has still to type it")
    stop = kept.planned.stop if kept.planned else None
    return SheetLine(
        key=kept.key,
        title=station.title,
        shape=SHAPES[how],
        words=HOW_WORDS[how],
        when=f"{clock(stop.begins_min)} to {clock(stop.ends_min)}" if stop else "not in the timetable",
        notes=tuple(notes),
    )


def _circuits(
    table: Timetable, bell: Bell, stations: Mapping[str, Station], lines: dict[SheetKey, SheetLine]
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
                posts.append(
                    Post(place=title or "Rest", candidate=candidate, examiner=examiner, line=lines.get(key))
                )
        yield circuit, tuple(posts)


def _examiners(kept: Iterable[KeptSheet], lines: dict[SheetKey, SheetLine]) -> Iterable[ExaminerLine]:
    own: dict[str, list[SheetLine]] = defaultdict(list)
    for each in kept:
        own[each.key.examiner].append(lines[each.key])
    for name in sorted(own):
        counts = Counter(each.words for each in own[name])
        words = ", ".join(f"{counts[each]} {each}" for each in reversed(HOW_WORDS.values()) if counts[each])
        yield ExaminerLine(examiner=name, words=words, lines=tuple(own[name]))


def _grade(code: int, stations: Mapping[str, Station]) -> str:
    grades = (each for station in stations.values() for each in station.grades)
    return next((each.name for each in grades if each.code == code), str(code))
