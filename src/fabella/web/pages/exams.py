"""Every exam, and the beginning of a new one."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problem
from fabella.store import Role
from fabella.store.exams.leading import LONGEST_NAME, KeptExam, exams_of, make_exam
from fabella.web.door import SENDING, enter
from fabella.web.examining.stages import STAGES
from fabella.web.forms import Form, blank, filled
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamLine:
    """An exam in the list: its stage in words, and whether marking in it is over."""

    exam: KeptExam
    stage: str
    is_past: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamsPage:
    """What there is."""

    template: ClassVar[str] = "exams.html"

    exams: tuple[ExamLine, ...] = field(metadata=said("Every exam, the latest day first."))
    form: Form = field(metadata=said("Name and day of a new exam as typed, and what is wrong with them."))


@enter(Role.TEACHER, methods=SENDING)
def exams(request: Request) -> HttpResponse:
    """Show every exam, or make a new one."""
    form = blank()
    if request.method == "POST":
        try:
            return HttpResponseRedirect(url("exam", exam_id=_made(request)))
        except InputError as error:
            form = filled(request, error.problems)
    lines = tuple(
        ExamLine(
            exam=each,
            stage=STAGES[each.stage],
            is_past=each.stage.is_over,
        )
        for each in exams_of(request.person)
    )
    return render(request, ExamsPage(exams=lines, form=form), status=form.status)


def _made(request: Request) -> int:
    typed, name = request.POST.get("day", ""), request.POST.get("name", "")
    try:
        on = date.fromisoformat(typed)
    except ValueError:
        remedy = "write a day, as 2026-02-03"
        problems = [Problem(place="day", says="is missing or wrong", remedy=remedy)]
        if not 0 < len(name.strip()) <= LONGEST_NAME:
            remedy = f"write 1 to {LONGEST_NAME} letters"
            problems.insert(0, Problem(place="name", says="will not do", remedy=remedy))
        raise InputError(problems) from None
    return make_exam(request.person, name, day=on, now=request.now)
