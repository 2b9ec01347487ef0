"""What a student does in a practice run, as JSON: each event once; and what moves in it."""

from __future__ import annotations

from dataclasses import asdict

from django.http import HttpResponse, JsonResponse
from django.views.decorators.gzip import gzip_page

from fabella.store.school.adding import add_events, read_events
from fabella.store.school.practising import is_over, run_of
from fabella.web.door import enter_learning
from fabella.web.passes import owner_of
from fabella.web.practice.motions import motion_text
from fabella.web.practice.playing import played
from fabella.web.visitor import Request


@enter_learning(methods=("POST",))
def events(request: Request, run_id: int) -> HttpResponse:
    """Keep a batch of events; every one has its own answer, and a repeat is answered the same."""
    learner = owner_of(run_id, request.actor, request.bearer)  # whose it is comes before what was sent
    batch = read_events(request.body)
    results = add_events(learner, run_id, batch, now=request.now)
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
            "finished": is_over(learner, run_id),
        }
    )


@enter_learning()
@gzip_page
def motion(request: Request, run_id: int, turn: int, view: str) -> HttpResponse:
    """Send the key positions of a walk or a test as they are drawn, without a word about them."""
    kept = run_of(owner_of(run_id, request.actor, request.bearer), run_id)
    encounter = played(kept.recipe, kept.terms, kept.events)
    return HttpResponse(motion_text(encounter, turn, view), content_type="application/json")
