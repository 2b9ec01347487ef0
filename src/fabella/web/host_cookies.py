"""Over TLS the names of our cookies begin with ``__Host-``: no neighbouring name can set one in their place.

Browsers take such a cookie from this very name alone, over TLS, for all of its paths (RFC 6265bis, section
4.1.3.2). Without TLS, as on a server's own machine, they take none, and the plain names stay.
"""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from fabella.web.passes import CLASS_PASS, DEVICE, EXAM_PASS

PREFIX = "__Host-"


class HostCookies:
    """Stands before whatever reads or gives cookies: inside it they have plain names, with TLS or without.

    Over TLS a cookie that comes under a plain name is nobody's: a neighbouring name may have set it.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer a request."""
        if not request.is_secure():
            return self._get_response(request)
        names = _names()
        for name in names:
            request.COOKIES.pop(name, None)
            if PREFIX + name in request.COOKIES:
                request.COOKIES[name] = request.COOKIES[PREFIX + name]
        response = self._get_response(request)
        for name in names:
            if name in response.cookies:
                _rename(response, name)
        return response


def _rename(response: HttpResponse, name: str) -> None:
    """Let a cookie have the other name."""
    given = response.cookies.pop(name)
    response.cookies[PREFIX + name] = given.value
    for attribute, value in given.items():
        response.cookies[PREFIX + name][attribute] = value
    response.cookies[PREFIX + name]["secure"] = True


def _names() -> tuple[str, ...]:
    """Return the plain names of our cookies."""
    passes = (DEVICE.name, CLASS_PASS.name, EXAM_PASS.name)
    return (*passes, settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME)
