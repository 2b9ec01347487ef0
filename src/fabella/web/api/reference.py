"""What does not depend on any patient: everything that may be found, kept by the browser for good."""

from __future__ import annotations

from django.http import HttpResponse

from fabella.store import NotThere
from fabella.web.bedside.signs import bedside_digest, bedside_text, bedside_text_packed
from fabella.web.door import enter_known
from fabella.web.visitor import Request

_YEAR_SECONDS = 365 * 24 * 60 * 60


@enter_known()
def signs(request: Request, digest: str) -> HttpResponse:
    """Give every sign with its levels and keypad; the address changes whenever they do."""
    if digest != bedside_digest():
        raise NotThere("These signs belong to another version of the program.")
    answer = HttpResponse(bedside_text(), content_type="application/json")
    if "gzip" in request.headers.get("Accept-Encoding", ""):  # it holds no secret for its length to tell
        answer = HttpResponse(bedside_text_packed(), content_type="application/json")
        answer.headers["Content-Encoding"] = "gzip"
    answer.headers["Vary"] = "Accept-Encoding"
    answer.headers["Cache-Control"] = f"private, max-age={_YEAR_SECONDS}, immutable"
    return answer
