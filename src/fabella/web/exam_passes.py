"""The pass of an exam: a signed cookie that says which code was shown in this browser."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from fabella.store.exams.codes import ExamPass, pass_of
from fabella.web.forms import typed_whole
from fabella.web.pass_cookies import drop_pass, put_pass

COOKIE = "fabella_exam"
_KEPT_S = 16 * 60 * 60  # an exam day; the code can be shown again


def exam_pass_of(request: HttpRequest) -> ExamPass | None:
    """Return the pass that a browser bears; None when it has none of ours, or its code was taken back."""
    code_id = request.get_signed_cookie(COOKIE, default=None, salt=COOKIE, max_age=_KEPT_S)
    number = typed_whole(code_id or "")
    return pass_of(number) if number else None


def give(response: HttpResponse, exam_pass: ExamPass, *, encrypted: bool) -> None:
    """Let a browser bear a pass, in the place of any other of an exam."""
    put_pass(response, COOKIE, str(exam_pass.code_id), kept_s=_KEPT_S, encrypted=encrypted)


def take_back(response: HttpResponse) -> None:
    """Let a browser forget its pass."""
    drop_pass(response, COOKIE)
