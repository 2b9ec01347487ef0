"""What moves in a practice run, as JSON."""

from __future__ import annotations

from django.http import HttpResponse
from django.views.decorators.gzip import gzip_page

from fabella.store.school.practising import run_of
from fabella.web.door import enter_learning
from fabella.web.practice.home import owner_of
from fabella.web.practice.motions import motion_text
from fabella.web.practice.playing import played
from fabella.web.visitor import Request


@enter_learning()
@gzip_page
def motion(request: Request, run_id: int, turn: int, view: str) -> HttpResponse:
    """Send the key positions of a walk or a test as they are drawn, without a word about them."""
    kept = run_of(owner_of(request, run_id), run_id)
    encounter = played(kept.recipe, kept.terms, kept.events)
    return HttpResponse(motion_text(encounter, turn, view), content_type="application/json")
