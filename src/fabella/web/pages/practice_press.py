"""What a student does in a practice run, for scripts: each event once, answered with what it brought."""

from __future__ import annotations

from dataclasses import asdict

from django.http import HttpResponse, JsonResponse

from fabella.store.school.adding import add_events, read_events
from fabella.store.school.practising import run_of
from fabella.web.door import enter_learning
from fabella.web.pages.practice_now import now_of
from fabella.web.practice.home import owner_of
from fabella.web.templating import render_text
from fabella.web.visitor import Request


@enter_learning(methods=("POST",))
def events(request: Request, run_id: int) -> HttpResponse:
    """Keep a batch of events; every one has its own answer, and a repeat is answered the same.

    Whoever says with ``shown`` how many events are on the screen is told with the answer how the run stands.
    """
    learner = owner_of(request, run_id)  # whose it is comes before what was sent
    batch = read_events(request.body)
    results = add_events(learner, run_id, batch, now=request.now)
    kept = run_of(learner, run_id)
    now = {"now": render_text(request, now_of(kept, request.GET))} if "shown" in request.GET else {}
    return JsonResponse(
        {
            "results": [
                {
                    "id": each.key,
                    "outcome": each.outcome.value,
                    "number": each.number,
                    "problems": list(map(asdict, each.problems)),
                }
                for each in results
            ],
            "finished": kept.finished,
            **now,
        }
    )
