"""What a browser may keep for work without a connection: open examinations, and an examiner's sheets."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.http import HttpResponse

from fabella.store.clinic.visits import line_of
from fabella.store.exams.leading import Stage, stage_of
from fabella.web.visitor import Request

KEEP = "X-Keep"
"""The header that allows the worker in the browser to keep an answer."""

_FOUND = 200


def kept_while_open(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Let the worker keep a page or state of a visit, as long as the visit is open."""

    @wraps(view)
    def marked(request: Request, visit_id: int) -> HttpResponse:
        answer = view(request, visit_id)
        if answer.status_code == _FOUND and not line_of(request.person, visit_id).is_signed:
            answer.headers[KEEP] = "open"
        return answer

    return marked


def kept_while_marking(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Let the worker keep the page of an examiner's sheets, as long as the exam is open."""

    @wraps(view)
    def marked(request: Request) -> HttpResponse:
        answer = view(request)
        exam_pass = request.exam_pass
        is_open = exam_pass is not None and stage_of(exam_pass.exam_id) is Stage.OPEN
        if answer.status_code == _FOUND and is_open:
            answer.headers[KEEP] = "open"
        return answer

    return marked
