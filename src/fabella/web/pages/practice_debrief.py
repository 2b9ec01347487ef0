"""The debrief of a practice run: now the patient is told, and what the run was worth."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.store.school.learner import Learner
from fabella.store.school.practising import keep_lesson, lessons_before, run_of
from fabella.store.school.remembering import keep_facts
from fabella.teach.wording import door_words
from fabella.web.door import SENDING, enter_learning
from fabella.web.elsewhere import soon_computed
from fabella.web.practice.home import Home, home_of, owner_of
from fabella.web.practice.lines import Line, lines_of
from fabella.web.practice.playing import played
from fabella.web.practice.summing_up import Asked, Summed, sum_up
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeDebriefPage:
    """What there was, what was done, and what to practise next."""

    template: ClassVar[str] = "practice_debrief.html"

    run_id: int = field(metadata=said("Number of the run."))
    home: Home = field(metadata=said("Where the run was begun, to go back there."))
    door: str = field(metadata=said("Who it was, as it stood on the door."))
    timeline: tuple[Line, ...] = field(metadata=said("Everything that was done, in order."))
    summed: Summed | None = field(
        metadata=said("The debrief in words and drawn lines; None while it is being worked out.")
    )


@enter_learning(methods=SENDING)
def practice_debrief(request: Request, run_id: int) -> HttpResponse:
    """Show the debrief of a finished run; a run that goes on leads back to itself.

    Most of it is worked out by playing the ideal examiner: until that is done it shows what was done.
    """
    learner = owner_of(request, run_id)
    kept = run_of(learner, run_id)
    if not kept.finished:
        return HttpResponseRedirect(url("practice_run", run_id=run_id))
    earlier = tuple(sorted(lessons_before(learner, run_id).items()))
    asked = Asked(recipe=kept.recipe, terms=kept.terms, events=kept.events, earlier=earlier)
    summed = soon_computed(sum_up, asked)
    if summed is not None:
        _keep(request, learner, run_id, summed)
    run = played(kept.recipe, kept.terms, kept.events).run
    page = PracticeDebriefPage(
        run_id=run_id,
        home=home_of(run_id, learner),
        door=door_words(run.door),
        timeline=tuple(lines_of(run)),
        summed=summed,
    )
    return render(request, page)


def _keep(request: Request, learner: Learner, run_id: int, summed: Summed) -> None:
    """Keep what the run taught and showed, for the record of whoever played it."""
    own = next((each for each in summed.scores if each.who == "You"), None)
    keep_lesson(
        learner,
        run_id,
        summed.lesson,
        brier=None if own is None else own.brier,
        log_bits=None if own is None else own.log_bits,
        now=request.now,
    )
    keep_facts(learner, run_id, summed.facts, now=request.now)
