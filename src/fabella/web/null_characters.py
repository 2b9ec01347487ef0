"""No null character comes in by an address or a form: one database cannot keep it, and nobody types it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from django.http import HttpRequest, HttpResponse

from fabella.errors import InputError, Problem
from fabella.store import NotThere
from fabella.web.errors import answer_to

NULL = "\0"


class NoNullCharacters:
    """Stands behind the doorkeeper and reads every field before the page does."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer a request."""
        return self._get_response(request)

    def process_view(
        self, request: HttpRequest, view: object, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        """Refuse a request that holds one, or whose form cannot be read; return None to let it in."""
        del view, args, kwargs
        if NULL in request.path:
            return answer_to(request, NotThere("There is no such page."))
        try:
            problems = tuple(_problems(request))
        except Exception as error:  # noqa: BLE001  as if the page had read it
            return answer_to(request, error)
        return answer_to(request, InputError(problems)) if problems else None


def _problems(request: HttpRequest) -> Iterator[Problem]:
    scripted = request.path.startswith("/api/")  # takes a body, which is gone once it was read as a form
    for sent in (request.GET,) if scripted else (request.GET, request.POST):
        for name, values in sent.lists():
            if NULL in name or any(NULL in each for each in map(str, values)):
                place = name.replace(NULL, "")
                yield Problem(place=place, says="holds a null character", remedy="leave it out")
