"""What was decided about one candidate, and everything that it rests on, for an appeal."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse

from fabella.assess import read_rules
from fabella.exam import Station
from fabella.store import NotThere, Role
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import KeptExam
from fabella.store.exams.results import is_overtaken, results_of
from fabella.store.exams.sheets import KeptSheet, all_sheets
from fabella.store.exams.typing_in import typists_of
from fabella.web.analysing.annulled import annulled_of
from fabella.web.analysing.decided import Line, lines_of, other_words, page_of, told_of
from fabella.web.analysing.freezing import rests_on_other
from fabella.web.analysing.frozen import FrozenExam, read_decision
from fabella.web.analysing.rules_origin import origin_words
from fabella.web.analysing.rules_words import rules_words
from fabella.web.analysing.strips import Strip, strip_of
from fabella.web.door import enter
from fabella.web.examining.drafting import Draft, draft_of
from fabella.web.files import sent_file
from fabella.web.marking.sheet_lines import sheet_line
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """A sheet on which a result rests; ``notes`` are what an appeal would ask about.

    ``scored`` says how its score came about when it was decided; empty where that is not known.
    """

    key: SheetKey
    title: str
    words: str
    notes: tuple[str, ...]
    scored: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamResultPage:
    """What was decided about one candidate, and what it rests on, for an appeal."""

    template: ClassVar[str] = "exam_result.html"

    exam: KeptExam = field(metadata=said("The exam."))
    candidate: str = field(metadata=said("The candidate."))
    line: Line | None = field(metadata=said("What was decided; None before a decision."))
    other: str = field(
        metadata=said("That this program does not work out again what was decided; empty where it does.")
    )
    rules: tuple[str, ...] = field(
        metadata=said(
            "The rules it was decided by, in sentences, and where they came from; empty if unknown."
        )
    )
    how: str = field(metadata=said("How scores become the whole score and its pass mark; empty if unknown."))
    stations: tuple[Strip, ...] = field(metadata=said("The whole exam and each station, score by pass mark."))
    is_overtaken: bool = field(
        metadata=said("Whether something was said on a sheet or of who was there since.")
    )
    is_other: bool = field(
        metadata=said("Whether it was decided by other rules, weights or stations than now.")
    )
    sheets: tuple[Ground, ...] = field(metadata=said("The candidate's sheets, in the order of stations."))


@enter(Role.TEACHER)
def exam_result(request: Request, exam_id: int, candidate: str) -> HttpResponse:
    """Show what was decided about one candidate, and every sheet that it rests on."""
    draft = draft_of(request.person, exam_id)
    sheets = [each for each in all_sheets(request.person, exam_id) if each.key.candidate == candidate]
    if not sheets:
        raise NotThere("There is no such candidate.")
    kept = results_of(request.person, exam_id)
    lines = {each.candidate: each for each in lines_of(kept[-1].text)} if kept else {}
    grounds = told_of(kept[-1].text, candidate) if kept else None
    frozen = read_decision(kept[-1].text) if kept else None
    annulled = annulled_of(draft)
    scored = {(each.station, each.examiner): each.words for each in grounds.sheets} if grounds else {}
    page = ExamResultPage(
        exam=draft.exam,
        candidate=candidate,
        line=lines.get(candidate),
        other=other_words(kept[-1].text) if kept else "",
        rules=_rules(draft, frozen) if frozen else (),
        how=grounds.how if grounds else "",
        stations=tuple(map(strip_of, grounds.standings)) if grounds else (),
        is_overtaken=bool(kept) and is_overtaken(exam_id, kept[-1].at),
        is_other=frozen is not None and rests_on_other(draft, frozen),
        sheets=tuple(
            _ground(
                each, station, scored.get((station.id, each.key.examiner), ""), annulled.get(station.id, "")
            )
            for station in draft.stations
            for each in sheets
            if each.key.station == station.id
        ),
    )
    return render(request, page)


def _rules(draft: Draft, frozen: FrozenExam) -> tuple[str, ...]:
    """Return the rules of a kept decision in sentences, where they came from first."""
    origin = (origin_words(frozen.origin),) if frozen.origin else ()
    told = rules_words(read_rules(frozen.rules), dict(frozen.weights), dict(frozen.annulled), draft.titles)
    return (*origin, *told)


def _ground(kept: KeptSheet, station: Station, scored: str, annulled: str) -> Ground:
    line, sheet = sheet_line(kept, station), kept.sheet
    notes = [*line.notes, *(f"opened again: {why}" for why in sheet.reopened)]
    if annulled:
        notes.append(f"its station is annulled: {annulled}")
    if typists := typists_of(sheet):
        notes.append(f"typed in from paper by {' and '.join(typists)}")
    return Ground(key=kept.key, title=station.title, words=line.words, notes=tuple(notes), scored=scored)


@enter(Role.TEACHER)
def exam_result_file(request: Request, exam_id: int, candidate: str) -> HttpResponse:
    """Send one candidate's page."""
    kept = results_of(request.person, exam_id)
    content = page_of(kept[-1].text, candidate) if kept else None
    if content is None:
        raise NotThere("Nothing is decided about this candidate yet.")
    return sent_file(content, f"exam-{exam_id}-{candidate}.pdf", inline=True)
