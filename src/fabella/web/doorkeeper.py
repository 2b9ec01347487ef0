"""The doorkeeper: lets a request through to its page, or not, by what the page declares."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed

from fabella.store import NotAllowed
from fabella.web.door import NobodyThere, entrance_of
from fabella.web.errors import answer_to
from fabella.web.visitor import Request


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
        if entrance.roles is not None:
            if request.actor is None:
                if not (entrance.passes and request.bearer is not None):
                    return answer_to(request, NobodyThere("Please say who you are."))
            elif not request.actor.roles & entrance.roles:
                return answer_to(request, NotAllowed("This page is not for your account."))
        if request.method not in entrance.methods:
            return HttpResponseNotAllowed(entrance.methods)
        return None
