"""An examiner's sheets for the scripts of a tablet: read as they stand, written event by event."""

from __future__ import annotations

import json
from dataclasses import asdict
from hashlib import sha256
from urllib.parse import unquote

from django.http import HttpResponse, HttpResponseNotModified, JsonResponse

from fabella.store import NotAllowed
from fabella.store.exams.codes import Kind
from fabella.store.exams.marking import add_events, read_marks
from fabella.web.door import enter_by_code
from fabella.web.marking.states import marking_tree
from fabella.web.marking.times import milliseconds
from fabella.web.visitor import Request

NOW = "X-Now"
"""The header by which a tablet learns the server's time [ms]: the bell rings for all at once."""


@enter_by_code(Kind.EXAMINER)
def sheets(request: Request) -> HttpResponse:
    """Give all of an examiner's sheets, or say that nothing has changed (304)."""
    text = json.dumps(marking_tree(request.holder))
    tag = f'"{sha256(text.encode()).hexdigest()[:24]}"'
    answer = (
        HttpResponseNotModified()
        if request.headers.get("If-None-Match") == tag
        else HttpResponse(text, content_type="application/json")
    )
    answer.headers["ETag"] = tag
    answer.headers[NOW] = str(milliseconds(request.now))
    return answer


@enter_by_code(Kind.EXAMINER, methods=("POST",))
def events(request: Request) -> HttpResponse:
    """Keep a batch of events; every one has its own answer, and a repeat is answered the same."""
    author = request.headers.get("X-Author")
    if author and unquote(author) != request.holder.name:
        raise NotAllowed("These marks were made by another examiner, whose code has to be entered first.")
    results = add_events(request.holder, read_marks(request.body), device=request.device, now=request.now)
    told = [
        {
            "id": each.key,
            "outcome": each.outcome.value,
            "version": each.number,
            "problems": list(map(asdict, each.problems)),
        }
        for each in results
    ]
    return JsonResponse({"results": told})
