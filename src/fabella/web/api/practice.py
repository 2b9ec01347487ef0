"""What a student does in a practice run, as JSON: each event once."""

from __future__ import annotations

from dataclasses import asdict

from django.http import HttpResponse, JsonResponse

from fabella.store.school.practising import add_events, read_events, run_of
from fabella.web.door import enter_known
from fabella.web.visitor import Request


@enter_known(methods=("POST",))
def events(request: Request, run_id: int) -> HttpResponse:
    """Keep a batch of events; every one has its own answer, and a repeat is answered the same."""
    run_of(request.person, run_id)  # whose it is comes before what was sent
    batch = read_events(request.body)
    results = add_events(request.person, run_id, batch, now=request.now)
    kept = run_of(request.person, run_id)
    return JsonResponse(
        {
            "results": [
                {
                    "id": each.key,
                    "outcome": each.kept.value,
                    "number": each.number,
                    "problems": list(map(asdict, each.problems)),
                }
                for each in results
            ],
            "finished": kept.finished,
        }
    )
