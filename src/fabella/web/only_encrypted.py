"""Where the server speaks TLS, nothing but the way there is answered to whoever comes without it."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from fabella.web.errors import answer
from fabella.web.pages.trust import authority, trust

_REFUSED = 403
_SAYS = "This server answers over TLS only: write https before its name."


class OnlyEncrypted:
    """Stands before sessions and cookies, so that none of them ever goes unencrypted."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer a request."""
        if settings.FABELLA.tls is None or request.is_secure():
            return self._get_response(request)
        request.get_host()  # a name that is not ours is refused here as anywhere
        if request.method in {"GET", "HEAD"}:
            if request.path == reverse("authority"):
                return authority(request)
            if not request.path.startswith("/api/"):
                page = trust(request)
                page.status_code = 200 if request.path in {"/", reverse("trust")} else _REFUSED
                return page
        return answer(request, _REFUSED, "not_encrypted", _SAYS)
