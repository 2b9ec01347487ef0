"""Every refusal and failure in one shape: as JSON under ``/api/``, as a page everywhere else.

``{"error": {"status": …, "code": …, "message": …, "problems": [{place, value, says, remedy}, …]}}``
"""

from __future__ import annotations

import logging
import sys
from collections.abc import Callable
from dataclasses import asdict
from urllib.parse import urlencode

from django.core.exceptions import BadRequest, RequestDataTooBig, SuspiciousOperation
from django.db import OperationalError
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.http import RawPostDataException as NotAsJson
from django.http import UnreadablePostError as BrokeOff
from django.http.multipartparser import MultiPartParserError
from django.urls import reverse
from django.utils.encoding import escape_uri_path

from fabella.errors import FabellaError, InputError, Problem
from fabella.store import Disputed, Frozen, Moved, NotAllowed, NotThere, Unreadable
from fabella.web.door import NobodyThere, NoCodeShown
from fabella.web.pages.error import ErrorPage
from fabella.web.templating import render

log = logging.getLogger(__name__)

_NOT_ALLOWED_HERE = 405
_LOGGED_OUT = 401
_NOT_SENT = (
    "You were logged out meanwhile, and nothing was sent.\nWhat you typed may still stand on the page before "
    "this one: go back, log in in another window, and send it again."
)
_KINDS: tuple[tuple[type[Exception], int, str], ...] = (
    (InputError, 400, "wrong"),
    (NoCodeShown, 401, "no_code"),
    (NobodyThere, 401, "nobody_there"),
    (NotAllowed, 403, "not_allowed"),
    (NotThere, 404, "not_there"),
    (Frozen, 409, "frozen"),
    (Moved, 409, "moved"),
    (Disputed, 409, "disputed"),
    (Unreadable, 500, "unreadable"),
    (FabellaError, 400, "wrong"),
    (Http404, 404, "not_there"),
    (RequestDataTooBig, 413, "too_large"),
    (SuspiciousOperation, 400, "wrong"),
    (BadRequest, 400, "wrong"),
    (MultiPartParserError, 400, "wrong"),
    (NotAsJson, 400, "wrong"),
    (BrokeOff, 503, "broke_off"),  # whoever sent it keeps it and sends it again
    (OperationalError, 503, "no_database"),
)
_OURS = "This is a fault of ours. Nothing that was acknowledged is lost; please try again."
_NO_DATABASE = (
    "The server cannot write or reach its databases: its disk may be full. This was not kept; what was "
    "acknowledged is not lost. Tell whoever runs the server."
)
_LOCKED = (
    "Something else on the server holds its databases for too long. This was not kept; what was acknowledged "
    "is not lost. Please try again in a minute."
)
_NOT_UNDERSTOOD = "The request was not understood; nothing was kept. Please load the page again."
_PLAIN: dict[type[Exception], str] = {
    Http404: "There is no such page.",
    RequestDataTooBig: "That is more than one examination needs; nothing was kept.",
    SuspiciousOperation: _NOT_UNDERSTOOD,
    BadRequest: _NOT_UNDERSTOOD,
    MultiPartParserError: _NOT_UNDERSTOOD,
    NotAsJson: "What is sent here is JSON, not a form; nothing was kept.",
    OperationalError: _NO_DATABASE,
    BrokeOff: "The request broke off; nothing was kept. Please send it again.",
}


class ErrorsInOneShape:
    """Turns what a page raises into an answer."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer a request."""
        response = self._get_response(request)
        if response.status_code == _NOT_ALLOWED_HERE and not response.content:
            allowed = response.headers["Allow"]
            response = answer(request, _NOT_ALLOWED_HERE, "method", f"Only {allowed} here.")
            response.headers["Allow"] = allowed
        return response

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse:
        """Answer what a page raised."""
        return answer_to(request, error)


def answer_to(request: HttpRequest, error: Exception) -> HttpResponse:
    """Return the answer to what went wrong; whatever nobody foresaw is our fault, and is logged."""
    for kind, status, code in _KINDS:
        if isinstance(error, kind):
            if isinstance(error, InputError):
                return answer(request, status, code, "Please correct this.", error.problems)
            if kind in {OperationalError, Unreadable}:
                log.error("%s %s: %s", request.method, escape_uri_path(request.path), error)
            if kind is NotAllowed:
                who = getattr(request, "person", None)
                path = escape_uri_path(request.path)
                log.warning("refused %s %s to %s", request.method, path, who.name if who else "nobody known")
            message = str(error) if isinstance(error, FabellaError) else _PLAIN[kind]
            if kind is OperationalError and "locked" in str(error):
                message = _LOCKED
            return answer(request, status, code, message)
    log.error("%s %s", request.method, escape_uri_path(request.path), exc_info=error)
    return answer(request, 500, "ours", _OURS)


def answer(
    request: HttpRequest, status: int, code: str, message: str, problems: tuple[Problem, ...] = ()
) -> HttpResponse:
    """Return a refusal or failure; a page asked for by nobody leads to the door."""
    if request.path.startswith("/api/"):
        error = {"status": status, "code": code, "message": message, "problems": list(map(asdict, problems))}
        return JsonResponse({"error": error}, status=status)
    if code == "no_code":
        return HttpResponseRedirect(reverse("mark_door"))
    if code == "nobody_there" and _has_typed(request):
        page = ErrorPage(status=_LOGGED_OUT, message=_NOT_SENT, problems=())
        return render(request, page, status=_LOGGED_OUT)
    if code == "nobody_there":
        asked = f"?{urlencode({'next': request.get_full_path()})}" if request.method == "GET" else ""
        return HttpResponseRedirect(f"{reverse('login')}{asked}")
    page = ErrorPage(status=status, message=message, problems=tuple(map(str, problems)))
    return render(request, page, status=status)


def _has_typed(request: HttpRequest) -> bool:
    """Say whether a form was sent in which anything stands: a page that leads elsewhere would lose it."""
    return request.method == "POST" and any(
        each for name, each in request.POST.items() if name != "csrfmiddlewaretoken"
    )


def wrong(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer what the framework refuses before any page: another name, a broken form."""
    log.warning("refused %s: %s", escape_uri_path(request.path), type(exception).__name__)
    return answer(request, 400, "wrong", "The request was not understood, or not under this server's name.")


def not_there(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer an address that leads nowhere."""
    del exception
    return answer(request, 404, "not_there", _PLAIN[Http404])


def ours(request: HttpRequest) -> HttpResponse:
    """Answer when even answering failed, as where nobody can be known because a database is away."""
    error = sys.exception()
    if isinstance(error, OperationalError):
        return answer_to(request, error)
    return answer(request, 500, "ours", _OURS)


def not_from_here(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form that did not come from our own page."""
    log.warning("refused %s %s: %s", request.method, escape_uri_path(request.path), reason)
    return answer(
        request, 403, "not_from_here", "This form is too old, or not from here. Please load it again."
    )
