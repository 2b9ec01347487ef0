"""What does not depend on any patient: everything that may be found, kept by the browser for good."""

from __future__ import annotations

from django.http import HttpResponse

from fabella.store import NotThere
from fabella.web.bedside.signs import bedside_digest, bedside_text
from fabella.web.door import enter_known
from fabella.web.visitor import Request

_YEAR_SECONDS = 365 * 24 * 60 * 60


@enter_known()
def signs(request: Request, digest: str) -> HttpResponse:
    """Give every sign with its levels and keypad; the address changes whenever they do."""
    del request
    if digest != bedside_digest():
        raise NotThere("These signs belong to another version of the program.")
    answer = HttpResponse(bedside_text(), content_type="application/json")
    answer.headers["Cache-Control"] = f"private, max-age={_YEAR_SECONDS}, immutable"
    return answer
