"""What every answer tells the browser: nothing from elsewhere, nothing in a frame, nothing kept."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)

HEADERS = {
    "Content-Security-Policy": POLICY,
    # With "no-referrer" browsers send forms with the origin "null", which no form check can accept.
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "Cache-Control": "no-store",
}


class SecurityHeaders:
    """Adds them to every answer that does not set its own; over TLS no cookie ever leaves without it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer a request."""
        response = self._get_response(request)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if request.is_secure():
            for cookie in response.cookies.values():
                cookie["secure"] = True
        return response
