"""The timetable: worked out while the page waits, and read by circuit, by candidate or by examiner."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problem
from fabella.exam import write_timetable
from fabella.store import Frozen, Role
from fabella.store.exams.leading import KeptExam, Stage
from fabella.store.exams.papers import TIMETABLE, put_paper
from fabella.web.door import SENDING, enter
from fabella.web.examining.drafting import Draft, readable_draft
from fabella.web.examining.grids import VIEWS, Block
from fabella.web.examining.placing import Asked, placed_when_ready
from fabella.web.examining.stages import is_outdated
from fabella.web.forms import typed_whole
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

SHOWN = (("circuits", "By circuit and round"), ("candidates", "By candidate"), ("examiners", "By examiner"))
"""The ways to read a timetable: value and words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamTimetablePage:
    """The timetable."""

    template: ClassVar[str] = "exam_timetable.html"

    exam: KeptExam = field(metadata=said("The exam."))
    is_waiting: bool = field(metadata=said("Whether one is being worked out."))
    seen: int = field(metadata=said("The version of the timetable on the screen; 0 before there is one."))
    wrong: tuple[str, ...] = field(metadata=said("Why none could be made."))
    is_outdated: bool = field(metadata=said("Whether something was changed after it was made."))
    can_make: bool = field(metadata=said("Whether one can be made from nothing: before the exam is open."))
    can_change: bool = field(metadata=said("Whether it can be changed: until the exam is closed."))
    by: str = field(metadata=said("How it is read."))
    views: tuple[tuple[str, str], ...] = field(metadata=said("The ways to read it: value and words."))
    blocks: tuple[Block, ...] = field(metadata=said("The timetable; empty before there is one."))


@enter(Role.TEACHER, methods=SENDING)
def exam_timetable(request: Request, exam_id: int) -> HttpResponse:
    """Show the timetable, or have one made."""
    draft = readable_draft(request.person, exam_id)
    if request.method != "POST":
        return _show(request, draft)
    if draft.exam.stage is not Stage.DRAFT:
        raise Frozen("The exam is open or was: its timetable is changed as little as can be, not made anew.")
    try:
        return _make(request, draft)
    except InputError as error:
        return _show(request, draft, problems=error.problems)


def _make(request: Request, draft: Draft) -> HttpResponse:
    found = placed_when_ready(Asked(day=draft.day()))
    if found is None:
        return _show(request, draft, is_waiting=True)
    if found.timetable is None:
        raise InputError(found.problems)
    text = write_timetable(found.timetable)
    seen = typed_whole(request.POST.get("seen", ""))
    put_paper(request.person, draft.exam.id, TIMETABLE, text, now=request.now, seen=seen)
    return HttpResponseRedirect(url("exam_timetable", exam_id=draft.exam.id))


def _show(
    request: Request, draft: Draft, *, is_waiting: bool = False, problems: tuple[Problem, ...] = ()
) -> HttpResponse:
    table, asked = draft.timetable, request.GET.get("by", "")
    by = asked if asked in VIEWS else "circuits"
    page = ExamTimetablePage(
        exam=draft.exam,
        is_waiting=is_waiting,
        seen=draft.version(TIMETABLE),
        wrong=tuple(map(str, problems)),
        is_outdated=is_outdated(draft),
        can_make=draft.exam.stage is Stage.DRAFT,
        can_change=table is not None and not draft.exam.stage.is_over,
        by=by,
        views=SHOWN,
        blocks=VIEWS[by](table, draft) if table else (),
    )
    return render(request, page, status=400 if problems else 200)
