"""Watching an exam day: a page for its lead that renews itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import nan
from typing import ClassVar, Final

from django.http import HttpResponse, HttpResponseRedirect
from django.views.decorators.gzip import gzip_page

from fabella.errors import InputError
from fabella.exam import Presence, read_clock
from fabella.store import Role
from fabella.store.exams.attending import state_presence
from fabella.store.exams.leading import KeptExam, exam_of
from fabella.store.exams.papers import timetable_of
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled
from fabella.web.marking.watched import Watched, watched
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

PRESENCES: Final = (
    (Presence.ABSENT.value, "is absent"),
    (Presence.LATE.value, "comes late, at"),
    (Presence.LEFT.value, "has left, at"),
    (Presence.HERE.value, "is here after all"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamWatchPage:
    """How the day stands."""

    template: ClassVar[str] = "exam_watch.html"

    exam: KeptExam = field(metadata=said("The exam."))
    watched: Watched = field(metadata=said("How its day stands now."))
    candidates: tuple[tuple[str, str], ...] = field(
        metadata=said("Candidates of the timetable, to choose from.")
    )
    presences: tuple[tuple[str, str], ...] = field(metadata=said("What can be said of one: value and words."))
    form: Form = field(metadata=said("Who is away as typed, and what is wrong with it."))


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamWatchNow:
    """The part of the page that is renewed."""

    template: ClassVar[str] = "_exam_watch.html"

    exam: KeptExam = field(metadata=said("The exam."))
    watched: Watched = field(metadata=said("How its day stands now."))


@enter(Role.TEACHER, methods=SENDING)
@gzip_page
def exam_watch(request: Request, exam_id: int) -> HttpResponse:
    """Show how the day of an exam stands, or keep that a candidate is away."""
    exam, form = exam_of(request.person, exam_id), blank(presence=Presence.ABSENT.value)
    if request.method == "POST":
        try:
            _keep(request, exam_id)
            return HttpResponseRedirect(url("exam_watch", exam_id=exam_id) + "#away")
        except InputError as error:
            form = filled(request, error.problems)
    table = timetable_of(exam_id)
    names = [each.id for each in table.day.candidates] if table else []
    page = ExamWatchPage(
        exam=exam,
        watched=watched(request.person, exam, request.now),
        candidates=(("", "choose"), *((each, each) for each in names)),
        presences=PRESENCES,
        form=form,
    )
    return render(request, page, status=form.status)


@enter(Role.TEACHER)
@gzip_page
def exam_watch_now(request: Request, exam_id: int) -> HttpResponse:
    """Show the same again, for a page that is open; of sheets by examiner, the lists that are open."""
    exam, opened = exam_of(request.person, exam_id), frozenset(request.GET.getlist("open"))
    now = watched(request.person, exam, request.now, opened=opened)
    return render(request, ExamWatchNow(exam=exam, watched=now))


def _keep(request: Request, exam_id: int) -> None:
    typed = request.POST
    presence, time_min = typed.get("presence", ""), read_clock(typed.get("time", ""))
    if presence not in set(Presence):
        raise InputError.of(place="presence", value=presence, says="is none", remedy="choose one")
    state_presence(
        request.person,
        exam_id,
        typed.get("candidate", ""),
        Presence(presence),
        at_min=nan if time_min is None else time_min,
        why=typed.get("why", ""),
        now=request.now,
    )
