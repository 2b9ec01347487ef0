"""Every candidate's page in one archive, made in parts off the way of requests."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import chain
from typing import ClassVar

from django.http import HttpResponse

from fabella.store import NotThere, Role
from fabella.store.exams.leading import KeptExam
from fabella.store.exams.results import results_of
from fabella.web.analysing.decided import other_words, parts_of
from fabella.web.analysing.told_pages import Printed, printed
from fabella.web.door import SENDING, enter
from fabella.web.elsewhere import computed, when_computed
from fabella.web.examining.drafting import draft_of
from fabella.web.files import archive_of, sent_file
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamFeedbackPage:
    """Every candidate's page, made in parts."""

    template: ClassVar[str] = "exam_feedback.html"

    exam: KeptExam = field(metadata=said("The exam."))
    done: int = field(metadata=said("Candidates whose page is made."))
    candidates: int = field(metadata=said("Candidates altogether; 0 before anything was decided."))
    other: str = field(
        metadata=said("That this program does not work out again what was decided; empty where it does.")
    )


@enter(Role.TEACHER, methods=SENDING)
def exam_feedback(request: Request, exam_id: int) -> HttpResponse:
    """Show how far the pages are made; each look begins the next part."""
    draft = draft_of(request.person, exam_id)
    parts, other = _parts(request, exam_id)
    made = [when_computed(printed, each) for each in parts]
    page = ExamFeedbackPage(
        exam=draft.exam,
        done=sum(len(each) for each in made if each is not None),
        candidates=sum(len(each.pages) for each in parts),
        other=other,
    )
    return render(request, page)


@enter(Role.TEACHER)
def exam_feedback_file(request: Request, exam_id: int) -> HttpResponse:
    """Send every candidate's page in one archive."""
    parts, other = _parts(request, exam_id)
    if not parts:
        raise NotThere(other or "Nothing is decided yet.")
    made = (computed(printed, each) for each in parts)
    return sent_file(archive_of(chain.from_iterable(made)), f"exam-{exam_id}-feedback.zip", inline=True)


def _parts(request: Request, exam_id: int) -> tuple[tuple[Printed, ...], str]:
    """Return the pages in parts, and why there are none though it was decided."""
    kept = results_of(request.person, exam_id)
    if not kept:
        return (), ""
    other = other_words(kept[-1].text)
    return () if other else parts_of(kept[-1].text), other
