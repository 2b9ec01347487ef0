"""Every candidate's page in one archive, made in parts off the way of requests."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import chain
from typing import ClassVar

from django.http import HttpResponse

from fabella.store import NotThere, Role
from fabella.store.exams.leading import KeptExam
from fabella.store.exams.results import results_of
from fabella.web.analysing.decided import candidates_of, other_words
from fabella.web.analysing.frozen import FrozenExam, read_decision
from fabella.web.analysing.worked import Asked, feedback_part, parts_of
from fabella.web.concluding import computed, when_computed
from fabella.web.door import SENDING, enter
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
    frozen, candidates, other = _decided(request, exam_id)
    done = 0
    if frozen is not None and not other:
        done = sum(len(part) for part in _parts(frozen, candidates) if part is not None)
    page = ExamFeedbackPage(exam=draft.exam, done=done, candidates=candidates, other=other)
    return render(request, page)


@enter(Role.TEACHER)
def exam_feedback_file(request: Request, exam_id: int) -> HttpResponse:
    """Send every candidate's page in one archive."""
    frozen, candidates, other = _decided(request, exam_id)
    if frozen is None or other:
        raise NotThere(other or "Nothing is decided yet.")
    parts = (
        computed(feedback_part, Asked(exam=frozen, place=place)) for place in range(parts_of(candidates))
    )
    return sent_file(archive_of(chain.from_iterable(parts)), f"exam-{exam_id}-feedback.zip", inline=True)


def _decided(request: Request, exam_id: int) -> tuple[FrozenExam | None, int, str]:
    kept = results_of(request.person, exam_id)
    if not kept:
        return None, 0, ""
    frozen = read_decision(kept[-1].text)
    return frozen, len(candidates_of(kept[-1].text)) if frozen else 0, other_words(kept[-1].text)


def _parts(frozen: FrozenExam, candidates: int) -> list[tuple[tuple[str, bytes], ...] | None]:
    return [
        when_computed(feedback_part, Asked(exam=frozen, place=place)) for place in range(parts_of(candidates))
    ]
