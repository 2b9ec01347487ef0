"""The parts of an exam in the order in which they are done, each with how it stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.errors import InputError
from fabella.report.wording import counted
from fabella.store import Actor
from fabella.store.exams.codes import Kind, code_lines
from fabella.store.exams.leading import Stage
from fabella.store.exams.papers import USUAL_RULES
from fabella.store.exams.results import decisions_kept
from fabella.store.exams.sheets import readable_sheets
from fabella.web.examining.drafting import Draft
from fabella.web.examining.stages import is_outdated
from fabella.web.examining.station_work import times_of
from fabella.web.templating import url

DONE, OPEN, LATER = "done", "to-do", "later"
"""How a part stands; the pages tell it by shape and words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A part of an exam: ``address`` is that of its page."""

    title: str
    words: str
    state: str
    address: str


def steps_of(actor: Actor, draft: Draft) -> tuple[Step, ...]:
    """Return every part of an exam."""
    return (*_before(actor, draft), *_on_the_day(actor, draft))


def _before(actor: Actor, draft: Draft) -> Iterator[Step]:
    exam_id = draft.exam.id
    long = sum(1 for each in draft.stations if times_of(each).over_s)
    words = f"{counted(len(draft.ids), 'station')} written" if draft.ids else "none written yet"
    words += f"; {long} with more items than time" if long else ""
    words += f"; {len(draft.unread)} cannot be read" if draft.unread else ""
    is_done = bool(draft.ids) and not long and not draft.unread
    yield _step("Stations", words, is_done, "exam_stations", exam_id)
    plan, table = draft.plan, draft.timetable
    told = "circuits and rounds not planned yet"
    if plan or table:
        circuits = len(plan.circuits if plan else table.day.circuits if table else ())
        rounds = len(plan.pauses_min if plan else table.day.rounds if table else ())
        told = f"{counted(circuits, 'circuit')}, {counted(rounds, 'round')}"
    yield _step("The day", told, bool(plan or table), "exam_day", exam_id)
    yield _step("People", *_people(draft), "exam_people", exam_id)
    outdated = is_outdated(draft)
    told = f"everybody placed: {counted(len(table.seats), 'candidate')}" if table else "not made yet"
    told = "made before something was changed; to be made again" if outdated else told
    yield _step("Timetable", told, table is not None and not outdated, "exam_timetable", exam_id)
    written = draft.version("rules")
    told = f"version {written} holds" if written else "nobody has declared any: the usual ones hold"
    if not written and draft.exam.stage is not Stage.DRAFT and USUAL_RULES in draft.papers:
        told += ", as they were on the day it opened"
    yield _step("Rules of the pass mark", told, bool(written), "exam_rules", exam_id)
    yield _codes(actor, exam_id, Kind.EXAMINER)
    yield Step(
        title="Papers",
        words="instructions, guides and mark sheets to print",
        state=OPEN if draft.stations else LATER,
        address=url("exam_papers", exam_id=exam_id),
    )


def _on_the_day(actor: Actor, draft: Draft) -> Iterator[Step]:
    exam_id, stage = draft.exam.id, draft.exam.stage
    words, state = "once the exam is open", LATER
    if stage is not Stage.DRAFT:
        sheets = [each for each in readable_sheets(actor, exam_id, draft.unread) if not each.is_excused]
        done = sum(1 for each in sheets if each.sheet.finished)
        words = f"{done} of {counted(len(sheets), 'mark sheet')} finished"
        words += ", beside those that cannot be read" if draft.unread else ""
        state = DONE if done == len(sheets) and not draft.unread else OPEN
    yield Step(
        title="Watch the marking", words=words, state=state, address=url("exam_watch", exam_id=exam_id)
    )
    is_open = stage is Stage.OPEN
    yield Step(
        title="Type in paper sheets",
        words="typed twice, and compared" if is_open else "if tablets fail, while the exam is open",
        state=OPEN if is_open else LATER,
        address=url("exam_typed", exam_id=exam_id),
    )
    yield Step(
        title="Analysis",
        words="pass marks, reliability, examiners" if stage.is_over else "once the exam is closed",
        state=OPEN if stage.is_over else LATER,
        address=url("exam_analysis", exam_id=exam_id),
    )
    made = decisions_kept(exam_id)
    yield Step(
        title="Results",
        words=f"{counted(made, 'decision')} kept" if made else "decided once the exam is closed",
        state=DONE if stage is Stage.RELEASED else OPEN if stage.is_over else LATER,
        address=url("exam_results", exam_id=exam_id),
    )
    if stage.is_over:
        yield _codes(actor, exam_id, Kind.CANDIDATE)


def _codes(actor: Actor, exam_id: int, kind: Kind) -> Step:
    lines = code_lines(actor, exam_id, kind)
    have = sum(1 for each in lines if each.at is not None)
    return Step(
        title=f"Codes for {kind.value}s",
        words=f"{have} of {counted(len(lines), kind.value)} have one"
        if lines
        else "once there is a timetable",
        state=DONE if lines and have == len(lines) else OPEN if lines else LATER,
        address=url("exam_codes", exam_id=exam_id, who=f"{kind.value}s"),
    )


def _people(draft: Draft) -> tuple[str, bool]:
    try:
        table = draft.timetable
        people = table.day if table and draft.plan is None else draft.people()
    except InputError as error:
        return f"{counted(len(error.problems), 'line')} to be put right", False
    candidates, examiners = len(people.candidates), len(people.examiners)
    if not candidates and not examiners:
        return "nobody named yet", False
    words = f"{counted(candidates, 'candidate')}, {counted(examiners, 'examiner')}"
    return words, bool(candidates and examiners)


def _step(title: str, words: str, is_done: bool, page: str, exam_id: int) -> Step:  # noqa: FBT001
    state = DONE if is_done else OPEN
    return Step(title=title, words=words, state=state, address=url(page, exam_id=exam_id))
