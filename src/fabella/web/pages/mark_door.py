"""The door of an exam: a code leads examiners to their sheets and candidates to their result."""

from __future__ import annotations

import logging
from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.store import NotThere
from fabella.store.exams.codes import ExamPass, Kind, pass_by_code
from fabella.store.exams.leading import kept_exam
from fabella.web.attempts import address_of, exam_code_attempts
from fabella.web.door import SENDING, enter_unknown
from fabella.web.passes import EXAM_PASS
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

log = logging.getLogger(__name__)

_UNKNOWN = "There is no such code. Letters and digits stand on the slip as the exam lead printed them."
_WAIT = "There were too many wrong codes from here. Please wait a quarter of an hour."


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkDoorPage:
    """Where the code is entered."""

    template: ClassVar[str] = "mark_door.html"

    code: str = field(metadata=said("The code as typed."))
    message: str = field(metadata=said("Why it does not open; empty before the first attempt."))
    who: str = field(metadata=said("Whose code holds in this browser, and of which exam; empty for none."))
    onward: str = field(metadata=said("The page that it opens."))


@enter_unknown(methods=SENDING)
def mark_door(request: Request) -> HttpResponse:
    """Ask for a code, and lead to what it opens; or let the browser forget the one that was entered."""
    if request.method != "POST":
        return _door(request)
    if request.POST.get("step") == "leave":
        left = HttpResponseRedirect(url("mark_door"))
        EXAM_PASS.take_back(left)
        return left
    typed, address = request.POST.get("code", ""), address_of(request)
    if not exam_code_attempts.may_try("", address, request.now):
        return _door(request, code=typed, message=_WAIT, status=429)
    try:
        found = pass_by_code(typed)
    except NotThere:
        log.warning("refused a code of an exam from %s", address)
        return _door(request, code=typed, message=_UNKNOWN, status=404)
    exam_code_attempts.take_back("", address)
    answer = HttpResponseRedirect(_onward(found))
    EXAM_PASS.give(request, answer, str(found.code_id))
    return answer


def _door(request: Request, *, code: str = "", message: str = "", status: int = 200) -> HttpResponse:
    held = request.exam_pass
    who = f"{held.person}, {kept_exam(held.exam_id).name}" if held else ""
    page = MarkDoorPage(code=code, message=message, who=who, onward=_onward(held) if held else "")
    return render(request, page, status=status)


def _onward(found: ExamPass) -> str:
    return url("mark_sheets" if found.kind is Kind.EXAMINER else "mark_result")
