"""What a browser may keep for work without a connection: open examinations, of whoever is logged in."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.http import HttpResponse

from fabella.store.clinic.visits import version_of
from fabella.web.visitor import Request

KEEP = "X-Keep"
"""The header that allows the worker in the browser to keep an answer."""

_FOUND = 200


def kept_while_open(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Let the worker keep a page or state of a visit, as long as the visit is open."""

    @wraps(view)
    def marked(request: Request, visit_id: int) -> HttpResponse:
        answer = view(request, visit_id)
        if answer.status_code == _FOUND:
            _, is_signed = version_of(request.person, visit_id)
            if not is_signed:
                answer.headers[KEEP] = "open"
        return answer

    return marked
