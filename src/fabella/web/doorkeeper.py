"""The doorkeeper: lets a request through to its page, or not, by what the page declares."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed

from fabella.store import NotAllowed
from fabella.store.exams.codes import Kind
from fabella.web.door import Entrance, NobodyThere, NoCodeShown, entrance_of
from fabella.web.errors import answer_to
from fabella.web.visitor import Request

_A = {Kind.EXAMINER: "an examiner", Kind.CANDIDATE: "a candidate"}


class Doorkeeper:
    """Stands before every page."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer a request."""
        return self._get_response(request)

    def process_view(
        self, request: Request, view: object, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        """Refuse a request that may not enter; return None to let it in."""
        del args, kwargs
        entrance = entrance_of(view)
        if entrance is None:
            return answer_to(request, NotAllowed("This page does not say who may enter, so nobody may."))
        if (refusal := _refusal(request, entrance)) is not None:
            return answer_to(request, refusal)
        if request.method not in entrance.methods:
            return HttpResponseNotAllowed(entrance.methods)
        return None


def _refusal(request: Request, entrance: Entrance) -> NotAllowed | None:
    """Return why somebody may not enter, None when they may."""
    if entrance.roles is None:
        return None
    if entrance.exam is not None:
        if request.exam_pass is None and request.actor is None:
            return NoCodeShown("Please enter your code.")
        has_code = request.exam_pass is not None and request.exam_pass.kind is entrance.exam
        return (
            None if has_code else NotAllowed(f"This page is for whoever has the code of {_A[entrance.exam]}.")
        )
    if request.actor is None:
        passes = entrance.passes and request.bearer is not None
        return None if passes else NobodyThere("Please say who you are.")
    return None if request.actor.roles & entrance.roles else NotAllowed("This page is not for your account.")
