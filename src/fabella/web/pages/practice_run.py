"""A practice run: what can be done, what it brought, and what the student makes of it."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import Any, ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError
from fabella.store.school.adding import add_events
from fabella.store.school.practising import KeptRun, run_of
from fabella.teach import Act, Event, Run
from fabella.teach.wording import door_words
from fabella.web.door import SENDING, enter_learning
from fabella.web.passes import owner_of
from fabella.web.practice.home import Home, home_of
from fabella.web.practice.lines import Line, clock_words, lines_of, said_of, state_words
from fabella.web.practice.offers import Note, Place, lesion_names, notes_of, places, written
from fabella.web.practice.playing import played
from fabella.web.practice.sent import sent_event
from fabella.web.practice.stage import Stage, stage_of
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_PLACES_TO_BELIEVE = 4
_DOOR = "The patient waits. Begin as you would at the bedside."


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeNow:
    """How a run stands: the part of its page that changes with everything that is done."""

    template: ClassVar[str] = "_practice_part.html"

    run_id: int = field(metadata=said("Number of the run."))
    clock_s: float = field(metadata=said("Seconds on the clock."))
    limit_s: float | None = field(metadata=said("Seconds of the station; None without a clock."))
    clock: str = field(metadata=said("The clock in words."))
    state: str = field(metadata=said("How the patient is: position, legs, face."))
    lines: tuple[Line, ...] = field(metadata=said("Everything that was done, the latest first."))
    latest: str = field(metadata=said("What the last thing brought, as one text."))
    open_notes: tuple[Note, ...] = field(
        metadata=said("What was done and is not recorded, the latest first.")
    )
    noted: tuple[Note, ...] = field(metadata=said("What was done and is recorded, to change it."))
    told: bool = field(metadata=said("Whether findings are told, so that nothing has to be recorded."))
    finished: bool = field(metadata=said("Whether the run is over."))
    in_words: bool = field(metadata=said("Whether drawings are told in words."))
    say_it: str = field(metadata=said("The event that asks for words."))
    stage: Stage = field(metadata=said("What is drawn."))
    new_id: str = field(metadata=said("An id for what is sent next."))


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeRunPage(PracticeNow):
    """A practice run, open or finished: how it stands, and all that can be done."""

    template: ClassVar[str] = "practice_run.html"

    home: Home = field(metadata=said("Where the run was begun, to go back there."))
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
    learner = owner_of(run_id, request.actor, request.bearer)
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
    page = _page(kept, problems, show=request.GET.get("show", ""))
    return render(request, page, status=400 if problems else 200)


@enter_learning()
def practice_now(request: Request, run_id: int) -> HttpResponse:
    """Show how a run stands, for a script; ``show`` asks for another drawing than the last one."""
    kept = run_of(owner_of(run_id, request.actor, request.bearer), run_id)
    return render(request, now_of(kept, show=request.GET.get("show", "")))


def now_of(kept: KeptRun, *, show: str = "") -> PracticeNow:
    """Return how a run stands, without the strips of stills that only pages without scripts need."""
    run = _run(kept)
    return PracticeNow(**_now(kept, run), stage=stage_of(run, show, strips=False))


def _run(kept: KeptRun) -> Run:
    return played(kept.recipe, kept.terms, kept.events).run


def _now(kept: KeptRun, run: Run) -> dict[str, Any]:
    lines, notes = lines_of(run), notes_of(run)
    limit = None if run.terms.minutes is None else run.terms.minutes * 60
    return {
        "run_id": kept.id,
        "clock_s": run.clock_s,
        "limit_s": limit,
        "clock": clock_words(run.clock_s) + ("" if limit is None else f" of {clock_words(limit)}"),
        "state": state_words(run),
        "lines": tuple(reversed(lines)),
        "latest": said_of(lines[-1]) if lines else _DOOR,
        "open_notes": tuple(each for each in notes if not each.noted),
        "noted": tuple(each for each in notes if each.noted),
        "told": run.terms.told,
        "finished": run.finished,
        "in_words": run.in_words,
        "say_it": written(Event(act=Act.IN_WORDS)),
        "new_id": secrets.token_hex(16),
    }


def _page(kept: KeptRun, problems: tuple[str, ...], *, show: str) -> PracticeRunPage:
    run = _run(kept)
    believed = [(lesion, round(100 * chance)) for lesion, chance in run.beliefs]
    empty = [("", 50)] * max(1, _PLACES_TO_BELIEVE - len(believed))
    said_to_complete = [each.would for each in kept.events if each.act is Act.COMPLETE]
    return PracticeRunPage(
        **_now(kept, run),
        stage=stage_of(run, show),
        home=home_of(kept.id),
        door=door_words(run.door),
        places=places(),
        watch=written(Event(act=Act.WATCH_FACE)),
        finish=written(Event(act=Act.FINISH)),
        lesions=lesion_names(),
        beliefs=(*believed, *empty),
        would="\n".join(said_to_complete[-1]) if said_to_complete else "",
        problems=problems,
    )
