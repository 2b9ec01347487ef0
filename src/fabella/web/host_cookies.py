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

    A browser that has only the plain one, from a version before this, is given the other with the next page;
    until the next version both are read, so that nobody is logged out and no device parted from what waits.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer a request."""
        if not request.is_secure():
            return self._get_response(request)
        kept = _kept_s()
        earlier = {
            name: request.COOKIES[name]
            for name in kept
            if name in request.COOKIES and PREFIX + name not in request.COOKIES
        }
        for name in kept:
            if PREFIX + name in request.COOKIES:
                request.COOKIES[name] = request.COOKIES[PREFIX + name]
        response = self._get_response(request)
        is_page = response.headers.get("Content-Type", "").startswith("text/html")
        for name, value in earlier.items():
            if is_page and name not in response.cookies:
                is_hidden = name != settings.CSRF_COOKIE_NAME
                response.set_cookie(
                    name, value, max_age=kept[name], httponly=is_hidden, samesite="Strict", secure=True
                )
        for name in kept:
            if name in response.cookies:
                _rename(response, name)
        return response


def _rename(response: HttpResponse, name: str) -> None:
    """Let a cookie have the other name; one that is taken back is taken back by both."""
    given = response.cookies[name]
    response.cookies[PREFIX + name] = given.value
    for attribute, value in given.items():
        response.cookies[PREFIX + name][attribute] = value
    response.cookies[PREFIX + name]["secure"] = True
    if given["max-age"] != 0:
        del response.cookies[name]


def _kept_s() -> dict[str, int | None]:
    """Return for how long a browser keeps each of our cookies [s]; None: until it is closed."""
    passes = {each.name: each.kept_s for each in (DEVICE, CLASS_PASS, EXAM_PASS)}
    return {**passes, settings.SESSION_COOKIE_NAME: None, settings.CSRF_COOKIE_NAME: settings.CSRF_COOKIE_AGE}
