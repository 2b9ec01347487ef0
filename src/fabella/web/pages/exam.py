"""One exam for its lead: how it stands, what is still missing, and the way to each of its parts."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError
from fabella.store import Role
from fabella.store.exams.leading import KeptExam, Stage
from fabella.store.exams.opening import move
from fabella.store.exams.trail import TrailLine
from fabella.web.analysing.trail_words import trail_told
from fabella.web.door import SENDING, enter
from fabella.web.examining.drafting import readable_draft
from fabella.web.examining.stages import BACK, STAGES, Onward, onward
from fabella.web.examining.steps import Step, steps_of
from fabella.web.forms import Form, blank, filled
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_SHOWN = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamPage:
    """How an exam stands."""

    template: ClassVar[str] = "exam.html"

    exam: KeptExam = field(metadata=said("The exam."))
    unread: tuple[str, ...] = field(metadata=said("What is said of each station that cannot be read."))
    stage: str = field(metadata=said("Its stage in words."))
    is_past: bool = field(metadata=said("Whether marking in it is over."))
    steps: tuple[Step, ...] = field(metadata=said("What there is to do, in order."))
    onward: Onward | None = field(metadata=said("The next stage; None once it is released."))
    back: str = field(
        metadata=said("The stage before, to which it can go back with a reason; empty for none.")
    )
    back_words: str = field(metadata=said("The stage before, in words."))
    last: tuple[TrailLine, ...] = field(metadata=said("What was done last, the last first."))
    form: Form = field(metadata=said("The reason as typed, and what hinders a change of stage."))


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamTrailPage:
    """Everything that was done to an exam."""

    template: ClassVar[str] = "exam_trail.html"

    exam: KeptExam = field(metadata=said("The exam."))
    lines: tuple[TrailLine, ...] = field(metadata=said("What was done, the earliest first."))


@enter(Role.TEACHER, methods=SENDING)
def exam(request: Request, exam_id: int) -> HttpResponse:
    """Show an exam, or bring it to another stage."""
    form = blank()
    if request.method == "POST":
        try:
            _move(request, exam_id)
            return HttpResponseRedirect(url("exam", exam_id=exam_id))
        except InputError as error:
            form = filled(request, error.problems)
    draft = readable_draft(request.person, exam_id)
    before = BACK.get(draft.exam.stage)
    page = ExamPage(
        exam=draft.exam,
        unread=tuple(draft.unread.values()),
        stage=STAGES[draft.exam.stage],
        is_past=draft.exam.stage.is_over,
        steps=steps_of(request.person, draft),
        onward=onward(request.person, draft),
        back=before.value if before else "",
        back_words=STAGES[before] if before else "",
        last=trail_told(request.person, draft)[: -_SHOWN - 1 : -1],
        form=form,
    )
    return render(request, page, status=form.status)


@enter(Role.TEACHER)
def exam_trail(request: Request, exam_id: int) -> HttpResponse:
    """Show everything that was done to an exam, for an appeal."""
    draft = readable_draft(request.person, exam_id)
    return render(request, ExamTrailPage(exam=draft.exam, lines=trail_told(request.person, draft)))


def _move(request: Request, exam_id: int) -> None:
    wanted = request.POST.get("stage", "")
    if wanted not in set(Stage):
        raise InputError.of(place="stage", value=wanted, says="is none", remedy="press a button")
    move(request.person, exam_id, Stage(wanted), why=request.POST.get("why", ""), now=request.now)
