"""A candidate's own result, once it is released."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

from django.http import HttpResponse

from fabella.store import NotAllowed, NotThere
from fabella.store.exams.codes import Kind
from fabella.store.exams.leading import Stage, kept_exam
from fabella.store.exams.results import own_decision
from fabella.web.door import enter_by_code
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
        metadata=said("What was decided, name and words of each part.")
    )


@enter_by_code(Kind.CANDIDATE)
def mark_result(request: Request) -> HttpResponse:
    """Show a candidate what was decided about them, or that it is not released."""
    held = request.exam_pass
    if held is None:
        raise NotAllowed("Please enter your code.")
    exam, message = kept_exam(held.exam_id), _WAITS
    lines: tuple[tuple[str, str], ...] = ()
    if exam.stage is Stage.RELEASED:
        try:
            message, lines = "", tuple(_lines(own_decision(held)))
        except NotThere as error:
            message = str(error)
    page = MarkResultPage(exam=exam.name, person=held.person, message=message, lines=lines)
    return render(request, page)


def _lines(decision: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield what a decision says, in the order in which one asks for it."""
    yield "Result", str(decision["outcome"]).replace("_", " ")
    for name, words in (("total", "Your score"), ("pass_mark", "Pass mark")):
        if isinstance(decision.get(name), int | float):
            yield words, f"{decision[name]:.1f} %"
    taken, passed = decision.get("stations_taken"), decision.get("stations_passed")
    if taken is not None and passed is not None:
        yield "Stations passed", f"{passed} of {taken}"
