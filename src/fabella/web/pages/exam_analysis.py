"""The analysis of an exam for its lead, worked out off the way of requests; and the reports as PDF."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problem
from fabella.report import Document
from fabella.store import NotThere, Role
from fabella.store.exams.leading import KeptExam, Stage
from fabella.web.analysing.allotment import allotment_of, keep_allotment
from fabella.web.analysing.freezing import freeze
from fabella.web.analysing.frozen import FrozenExam
from fabella.web.analysing.worked import Asked, board_file, board_of, station_file
from fabella.web.door import SENDING, enter
from fabella.web.elsewhere import computed, when_computed
from fabella.web.examining.drafting import draft_of
from fabella.web.files import sent_file
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A block of a report with its kind: Paragraph, Points or Table."""

    kind: str
    block: object


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """A section of a report."""

    heading: str
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamAnalysisPage:
    """What the marks of an exam show."""

    template: ClassVar[str] = "exam_analysis.html"

    exam: KeptExam = field(metadata=said("The exam."))
    is_open: bool = field(metadata=said("Whether it is still being marked, so that nothing here is final."))
    is_waiting: bool = field(metadata=said("Whether the analysis is being worked out."))
    at_random: bool = field(metadata=said("Whether candidates were allotted to circuits at random."))
    is_released: bool = field(metadata=said("Whether nothing can be said any more."))
    wrong: tuple[Problem, ...] = field(metadata=said("Why there is no analysis."))
    chapters: tuple[Chapter, ...] = field(metadata=said("The analysis; empty before it is there."))
    figure: str = field(metadata=said("The drawing as SVG; empty for none."))
    stations: tuple[tuple[str, str], ...] = field(metadata=said("Stations that have a report: id and title."))


@enter(Role.TEACHER, methods=SENDING)
def exam_analysis(request: Request, exam_id: int) -> HttpResponse:
    """Show what the marks show, or that it is being worked out; keep that allotment was at random."""
    draft = draft_of(request.person, exam_id)
    if request.POST.get("step") == "allotment":
        keep_allotment(request, draft, at_random=request.POST.get("random") == "yes")
        return HttpResponseRedirect(url("exam_analysis", exam_id=exam_id))
    wrong: tuple[Problem, ...] = ()
    found: Document | None = None
    try:
        found = when_computed(board_of, freeze(request.person, draft))
    except InputError as error:
        wrong = error.problems
    page = ExamAnalysisPage(
        exam=draft.exam,
        is_open=draft.exam.stage is Stage.OPEN,
        is_waiting=found is None and not wrong,
        at_random=allotment_of(draft) is not None,
        is_released=draft.exam.stage is Stage.RELEASED,
        wrong=wrong,
        chapters=_chapters(found) if found else (),
        figure=found.figure.svg if found and found.figure else "",
        stations=tuple((each.id, each.title) for each in draft.stations) if found else (),
    )
    return render(request, page)


@enter(Role.TEACHER)
def exam_board_file(request: Request, exam_id: int) -> HttpResponse:
    """Send the report to the board."""
    return sent_file(
        computed(board_file, _frozen(request, exam_id)), f"exam-{exam_id}-board.pdf", inline=True
    )


@enter(Role.TEACHER)
def exam_station_file(request: Request, exam_id: int, station: str) -> HttpResponse:
    """Send the report on one station."""
    ids = draft_of(request.person, exam_id).ids
    if station not in ids:
        raise NotThere("There is no such station.")
    asked = Asked(exam=_frozen(request, exam_id), place=ids.index(station))
    return sent_file(computed(station_file, asked), f"exam-{exam_id}-station-{station}.pdf", inline=True)


def _frozen(request: Request, exam_id: int) -> FrozenExam:
    return freeze(request.person, draft_of(request.person, exam_id))


def _chapters(document: Document) -> tuple[Chapter, ...]:
    return tuple(
        Chapter(
            heading=section.heading,
            pieces=tuple(Piece(kind=type(block).__name__, block=block) for block in section.blocks),
        )
        for section in document.sections
    )
