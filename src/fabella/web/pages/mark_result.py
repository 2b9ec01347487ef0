"""A candidate's own result, once it is released: the decision, what was done well, what was missed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from math import isnan
from typing import Any, ClassVar

from django.http import HttpResponse

from fabella.assess import Outcome
from fabella.papers import Standing
from fabella.papers.words import OUTCOMES, beside
from fabella.report.document import Section
from fabella.store import NotThere
from fabella.store.exams.codes import ExamPass, Kind
from fabella.store.exams.leading import Stage, kept_exam
from fabella.store.exams.results import own_decision, released_to
from fabella.web.analysing.decided import page_of, percent, told_of
from fabella.web.door import enter_by_code
from fabella.web.files import sent_file
from fabella.web.templating import render, said
from fabella.web.visitor import Request

_WAITS = "Your result is not released yet. Come back with the same code."
_MOST = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A score drawn from 0 to 100 %: where it stands, and beside what; ``words`` say all that is drawn.

    ``half`` has the ends of the middle half of all candidates, ``error`` those of the score's own error; None
    for what is not known.
    """

    title: str
    score: str
    to_pass: str
    verdict: str
    words: str
    own: float | None
    cut: float | None
    error: tuple[float, float] | None
    half: tuple[float, float] | None


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
    document, standings = told
    whole, *stations = map(strip_of, standings)
    strips = (replace(whole, verdict=""), *stations)  # the decision says it, and may have other reasons
    return replace(page, message="", strips=strips, sections=document.sections, close=document.close)


def strip_of(it: Standing) -> Strip:
    """Return where a candidate stands as it is drawn and told."""
    own, cut, low, high = (None if isnan(each) else each for each in (it.own, it.cut, it.low, it.high))
    error = None if own is None or isnan(it.error) else it.error
    half = None if low is None or high is None else (low, high)
    score, to_pass = _shown(own, cut)
    words = [f"score {score}", f"pass mark {to_pass}"]
    words += [] if half is None else [f"half of all candidates between {half[0]:.0f} and {half[1]:.0f}%"]
    return Strip(
        title=it.title,
        score=score if error is None or own is None else f"{score.removesuffix('%')} ± {percent(error)}",
        to_pass=to_pass,
        verdict=it.verdict,
        words=", ".join(words),
        own=own,
        cut=cut,
        error=None if error is None or own is None else (max(own - error, 0.0), min(own + error, _MOST)),
        half=half,
    )


def _shown(own: float | None, cut: float | None) -> tuple[str, str]:
    """Return score and pass mark with as many digits as show which is the higher, or dashes."""
    if own is None or cut is None:
        return percent(own), percent(cut)
    score, to_pass = beside(own, cut)
    return f"{score}%", f"{to_pass}%"


def _lines(decision: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield what a decision says that was kept without what it rests on."""
    yield "Result", OUTCOMES[Outcome(decision["outcome"])]
    for name, words in (("total", "Your score"), ("pass_mark", "Pass mark")):
        if isinstance(decision.get(name), int | float):
            yield words, percent(decision[name])
