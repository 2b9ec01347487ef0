"""Watching an exam day: a page for its lead that renews itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse
from django.views.decorators.gzip import gzip_page

from fabella.store import Role
from fabella.store.exams.leading import KeptExam, exam_of
from fabella.web.door import enter
from fabella.web.marking.watched import Watched, watched
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamWatchPage:
    """How the day stands."""

    template: ClassVar[str] = "exam_watch.html"

    exam: KeptExam = field(metadata=said("The exam."))
    watched: Watched = field(metadata=said("How its day stands now."))


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamWatchNow:
    """The part of the page that is renewed."""

    template: ClassVar[str] = "_exam_watch.html"

    exam: KeptExam = field(metadata=said("The exam."))
    watched: Watched = field(metadata=said("How its day stands now."))


@enter(Role.TEACHER)
@gzip_page
def exam_watch(request: Request, exam_id: int) -> HttpResponse:
    """Show how the day of an exam stands."""
    exam = exam_of(request.person, exam_id)
    return render(request, ExamWatchPage(exam=exam, watched=watched(request.person, exam_id, request.now)))


@enter(Role.TEACHER)
@gzip_page
def exam_watch_now(request: Request, exam_id: int) -> HttpResponse:
    """Show the same again, for a page that is open."""
    exam = exam_of(request.person, exam_id)
    return render(request, ExamWatchNow(exam=exam, watched=watched(request.person, exam_id, request.now)))
