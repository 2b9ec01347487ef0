"""A practice run: what can be done, what it brought, and what the student makes of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError
from fabella.store.school.adding import add_events
from fabella.store.school.learner import Learner
from fabella.store.school.practising import KeptRun, run_of
from fabella.teach import Act, Event
from fabella.teach.wording import clock_words, door_words
from fabella.web.door import SENDING, enter_learning
from fabella.web.forms import new_id
from fabella.web.pages.practice_now import PracticeNow, standing
from fabella.web.practice.home import Home, home_of, owner_of
from fabella.web.practice.offers import Place, lesion_names, places, written
from fabella.web.practice.playing import played
from fabella.web.practice.sent import sent_event
from fabella.web.practice.stage import stage_of
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_PLACES_TO_BELIEVE = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeRunPage(PracticeNow):
    """A practice run, open or finished: how it stands, and all that can be done."""

    template: ClassVar[str] = "practice_run.html"

    home: Home = field(metadata=said("Where the run was begun, to go back there."))
    clock: str = field(metadata=said("The clock in words."))
    door: str = field(metadata=said("Who waits, as it stands on the door."))
    places: tuple[Place, ...] = field(metadata=said("What can be done, position by position."))
    watch: str = field(metadata=said("The event that begins to watch the face."))
    finish: str = field(metadata=said("The event that ends the run."))
    lesions: tuple[tuple[str, str], ...] = field(metadata=said("Every lesion that can be believed in."))
    beliefs: tuple[tuple[str, int], ...] = field(
        metadata=said("What the student last believed: lesion and per cent, with empty places.")
    )
    would: str = field(metadata=said("What the student said to complete the examination with."))
    problems: tuple[str, ...] = field(metadata=said("What was wrong with the form that was sent."))


@enter_learning(methods=SENDING)
def practice_run(request: Request, run_id: int) -> HttpResponse:
    """Show a run; without scripts, do what a button says and show what it brought."""
    learner = owner_of(request, run_id)
    kept = run_of(learner, run_id)
    problems: tuple[str, ...] = ()
    if request.method == "POST":
        try:
            result = add_events(learner, run_id, [sent_event(request.POST)], now=request.now)[0]
        except InputError as error:
            problems = tuple(map(str, error.problems))
        else:
            problems = tuple(map(str, result.problems))
        kept = run_of(learner, run_id)
        if not problems:
            to = "practice_debrief" if kept.finished else "practice_run"
            return HttpResponseRedirect(url(to, run_id=run_id))
    page = _page(kept, learner, problems, show=request.GET.get("show", ""))
    return render(request, page, status=400 if problems else 200)


def _page(kept: KeptRun, learner: Learner, problems: tuple[str, ...], *, show: str) -> PracticeRunPage:
    run = played(kept.recipe, kept.terms, kept.events).run
    limit = "" if run.terms.minutes is None else f" of {clock_words(run.terms.minutes * 60)}"
    believed = [(lesion, round(100 * chance)) for lesion, chance in run.beliefs]
    empty = [("", 50)] * max(1, _PLACES_TO_BELIEVE - len(believed))
    said_to_complete = [each.would for each in kept.events if each.act is Act.COMPLETE]
    return PracticeRunPage(
        **standing(kept.id, run),
        stage=stage_of(run, show),
        scripted=False,
        new_id=new_id(),
        home=home_of(kept.id, learner),
        clock=clock_words(run.clock_s) + limit,
        door=door_words(run.door),
        places=places(),
        watch=written(Event(act=Act.WATCH_FACE)),
        finish=written(Event(act=Act.FINISH)),
        lesions=lesion_names(),
        beliefs=(*believed, *empty),
        would="\n".join(said_to_complete[-1]) if said_to_complete else "",
        problems=problems,
    )
