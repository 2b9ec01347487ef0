"""A candidate's own result, once it is released: the decision, what was done well, what was missed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar

from django.http import HttpResponse

from fabella.assess import Outcome
from fabella.papers.words import OUTCOMES
from fabella.report.document import Section
from fabella.store import NotThere
from fabella.store.exams.codes import ExamPass, Kind
from fabella.store.exams.leading import Stage, kept_exam
from fabella.store.exams.results import own_decision, released_to
from fabella.web.analysing.decided import page_of, percent, told_of
from fabella.web.analysing.strips import Strip, strip_of
from fabella.web.door import enter_by_code
from fabella.web.files import sent_file
from fabella.web.templating import render, said
from fabella.web.visitor import Request

_WAITS = "Your result is not released yet. Come back with the same code."


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkResultPage:
    """What was decided about one candidate; nothing of anybody else."""

    template: ClassVar[str] = "mark_result.html"

    exam: str = field(metadata=said("Name of the exam."))
    person: str = field(metadata=said("The candidate."))
    message: str = field(metadata=said("Why there is nothing to read; empty when there is."))
    lines: tuple[tuple[str, str], ...] = field(
        metadata=said("What was decided, name and words of each part; empty where the sections say more.")
    )
    strips: tuple[Strip, ...] = field(metadata=said("The whole exam and each station; empty before it."))
    sections: tuple[Section, ...] = field(metadata=said("The sections of the candidate's page."))
    close: str = field(metadata=said("Its last sentence."))


@enter_by_code(Kind.CANDIDATE)
def mark_result(request: Request) -> HttpResponse:
    """Show a candidate what was decided about them, or that it is not released."""
    held = request.holder
    exam = kept_exam(held.exam_id)
    page = MarkResultPage(
        exam=exam.name, person=held.person, message=_WAITS, lines=(), strips=(), sections=(), close=""
    )
    if exam.stage is Stage.RELEASED:
        try:
            page = _released(page, held)
        except NotThere as error:
            page = replace(page, message=str(error))
    return render(request, page)


@enter_by_code(Kind.CANDIDATE)
def mark_page(request: Request) -> HttpResponse:
    """Send a candidate the page about themselves as PDF, and nobody else's."""
    held = request.holder
    content = page_of(released_to(held).text, held.person)
    if content is None:
        raise NotThere("There is no page about you; ask the exam lead.")
    return sent_file(content, f"result-{held.person}.pdf", inline=True)


def _released(page: MarkResultPage, held: ExamPass) -> MarkResultPage:
    own = own_decision(held)
    told = told_of(released_to(held).text, held.person)
    if told is None:
        return replace(page, message="", lines=tuple(_lines(own)))
    whole, *stations = map(strip_of, told.standings)
    strips = (replace(whole, verdict=""), *stations)  # the decision says it, and may have other reasons
    return replace(
        page, message="", strips=strips, sections=told.document.sections, close=told.document.close
    )


def _lines(decision: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield what a decision says that was kept without what it rests on."""
    yield "Result", OUTCOMES[Outcome(decision["outcome"])]
    for name, words in (("total", "Your score"), ("pass_mark", "Pass mark")):
        if isinstance(decision.get(name), int | float):
            yield words, percent(decision[name])
