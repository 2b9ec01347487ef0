"""The papers of an exam as PDF: what each person reads, and mark sheets for the day the tablets fail."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse

from fabella.errors import InputError, Problems, suggestion
from fabella.papers.printed import Leaf, as_papers, station_leaves
from fabella.store import Role, Unreadable
from fabella.store.exams.duties import planned
from fabella.store.exams.leading import KeptExam, Stage
from fabella.store.exams.papers import station_of
from fabella.web.door import enter
from fabella.web.examining.drafting import Draft, draft_of, readable_draft
from fabella.web.examining.sheets_wanted import wanted_sheets
from fabella.web.files import sent_file
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamPapersPage:
    """What can be printed."""

    template: ClassVar[str] = "exam_papers.html"

    exam: KeptExam = field(metadata=said("The exam."))
    is_draft: bool = field(metadata=said("Whether stations can still be altered."))
    unread: tuple[str, ...] = field(metadata=said("What is said of each station that cannot be read."))
    stations: tuple[tuple[str, str], ...] = field(metadata=said("The stations: id and title."))
    circuits: tuple[str, ...] = field(metadata=said("The circuits; empty before there is a timetable."))
    sheets: int = field(metadata=said("How many mark sheets the timetable wants."))


@enter(Role.TEACHER)
def exam_papers(request: Request, exam_id: int) -> HttpResponse:
    """Show what can be printed."""
    draft = readable_draft(request.person, exam_id)
    table = draft.timetable
    page = ExamPapersPage(
        exam=draft.exam,
        unread=tuple(draft.unread.values()),
        is_draft=draft.exam.stage is Stage.DRAFT,
        stations=tuple((each.id, each.title) for each in draft.stations),
        circuits=table.day.circuits if table else (),
        sheets=len(planned(exam_id)),
    )
    return render(request, page)


@enter(Role.TEACHER)
def exam_station_papers(request: Request, exam_id: int, station: str) -> HttpResponse:
    """Send the papers of one station: for candidate, examiner and volunteer, and what is needed."""
    draft = readable_draft(request.person, exam_id)
    leaves = station_leaves(station_of(exam_id, station), exam=draft.exam.name)
    return _sent(request, draft, leaves, f"station-{station}")


@enter(Role.TEACHER)
def exam_all_papers(request: Request, exam_id: int) -> HttpResponse:
    """Send the papers of every station."""
    draft = draft_of(request.person, exam_id)
    leaves = [leaf for each in draft.stations for leaf in station_leaves(each, exam=draft.exam.name)]
    return _sent(request, draft, leaves, "stations")


@enter(Role.TEACHER)
def exam_mark_sheets(request: Request, exam_id: int) -> HttpResponse:
    """Send mark sheets of paper: of a station, of a circuit, or all."""
    station, circuit = (request.GET.get(name, "") for name in ("station", "circuit"))
    draft = (readable_draft if station else draft_of)(request.person, exam_id)
    wanted = planned(exam_id)
    problems = Problems()
    for name, value, allowed in (
        ("station", station, draft.ids),
        ("circuit", circuit, tuple(dict.fromkeys(each.stop.circuit for each in wanted))),
    ):
        if value and value not in allowed:
            problems.add(name, value, "is not on this day", suggestion(value, allowed))
    problems.raise_any()
    if station in draft.unread:
        raise Unreadable(draft.unread[station])
    stations = {each.id: each for each in draft.stations}
    leaves = wanted_sheets(stations, wanted, exam=draft.exam.name, station=station, circuit=circuit)
    parts = [f"station-{station}" if station else "", f"circuit-{circuit}" if circuit else ""]
    return _sent(request, draft, leaves, "-".join(["mark-sheets", *filter(None, parts)]))


def _sent(request: Request, draft: Draft, leaves: tuple[Leaf, ...] | list[Leaf], name: str) -> HttpResponse:
    if not leaves:
        remedy = "write stations and make the timetable first"
        raise InputError.of(place="papers", says="are not there yet", remedy=remedy)
    stage = "draft, " if draft.exam.stage is Stage.DRAFT else ""
    foot = f"{draft.exam.name}, {draft.exam.day:%d.%m.%Y}, {stage}printed {request.today:%d.%m.%Y}"
    file = as_papers(leaves, title=f"{draft.exam.name}: {name}", foot=foot, written_on=request.today)
    return sent_file(file, f"exam-{draft.exam.id}-{name}.pdf", inline=True)
