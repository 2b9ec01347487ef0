"""How a practice run stands: the part of its page that changes with everything that is done."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar

from django.http import HttpResponse, QueryDict

from fabella.store.school.practising import KeptRun, run_of
from fabella.teach import Act, Event, Run
from fabella.web.door import enter_learning
from fabella.web.forms import typed_whole
from fabella.web.practice.home import owner_of
from fabella.web.practice.lines import Line, lines_of, said_of, state_words
from fabella.web.practice.offers import Note, notes_of, written
from fabella.web.practice.playing import played
from fabella.web.practice.stage import Stage, stage_of
from fabella.web.templating import render, said
from fabella.web.visitor import Request

_DOOR = "The patient waits. Begin as you would at the bedside."
_ALL_ANEW = (Act.IN_WORDS, Act.FINISH)
"""What makes everything read otherwise that was shown before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeNow:
    """How a run stands; what a script says that it shows already is not sent again."""

    template: ClassVar[str] = "_practice_part.html"

    run_id: int = field(metadata=said("Number of the run."))
    turns: int = field(metadata=said("Number of things that were done."))
    clock_s: float = field(metadata=said("Seconds on the clock."))
    limit_s: float | None = field(metadata=said("Seconds of the station; None without a clock."))
    state: str = field(metadata=said("How the patient is: position, legs, face."))
    lines: tuple[Line, ...] = field(
        metadata=said("Everything that was done, the latest first; what is shown already is left out.")
    )
    latest: str = field(metadata=said("What the last thing brought, as one text."))
    covered: bool = field(metadata=said("Whether the last thing came to nothing, for the legs were covered."))
    open_notes: tuple[Note, ...] = field(
        metadata=said("What was done and is not recorded, the latest first.")
    )
    noted: tuple[Note, ...] = field(metadata=said("What was done and is recorded, to change it."))
    told: bool = field(metadata=said("Whether findings are told, so that nothing has to be recorded."))
    finished: bool = field(metadata=said("Whether the run is over."))
    in_words: bool = field(metadata=said("Whether drawings are told in words."))
    say_it: str = field(metadata=said("The event that asks for words."))
    stage: Stage = field(metadata=said("What is drawn."))
    scripted: bool = field(
        metadata=said("Whether a script asks, which makes ids and shows the framework's token by itself.")
    )
    new_id: str = field(metadata=said("An id for what is sent next without scripts."))


@enter_learning()
def practice_now(request: Request, run_id: int) -> HttpResponse:
    """Show how a run stands, for a script; ``show`` asks for another drawing than the last one."""
    kept = run_of(owner_of(request, run_id), run_id)
    return render(request, now_of(kept, request.GET))


def now_of(kept: KeptRun, asked: QueryDict) -> PracticeNow:
    """Return how a run stands for a script.

    ``shown`` is how many events are on the screen, ``drawn`` the key of the drawing there: both stay.
    ``show`` asks for another drawing. Stills are for pages without scripts, and left out.
    """
    run = played(kept.recipe, kept.terms, kept.events).run
    shown = typed_whole(asked.get("shown", ""))
    if shown > len(run.turns) or any(turn.event.act in _ALL_ANEW for turn in run.turns[shown:]):
        shown = 0
    return PracticeNow(
        **standing(kept.id, run, shown=shown),
        stage=stage_of(run, asked.get("show", ""), strips=False, drawn=asked.get("drawn")),
        scripted=True,
        new_id="",
    )


def standing(run_id: int, run: Run, *, shown: int = 0) -> dict[str, Any]:
    """Return what scripts and pages without them are both told, but for the drawing."""
    notes = notes_of(run, shown=shown)
    return {
        "run_id": run_id,
        "turns": len(run.turns),
        "clock_s": run.clock_s,
        "limit_s": None if run.terms.minutes is None else run.terms.minutes * 60,
        "state": state_words(run),
        "lines": tuple(reversed(lines_of(run, shown=shown))),
        "latest": said_of(lines_of(run, shown=len(run.turns) - 1)[-1]) if run.turns else _DOOR,
        "covered": bool(run.turns) and run.turns[-1].seen.covered,
        "open_notes": tuple(each for each in notes if not each.noted),
        "noted": tuple(each for each in notes if each.noted),
        "told": run.terms.told,
        "finished": run.finished,
        "in_words": run.in_words,
        "say_it": written(Event(act=Act.IN_WORDS)),
    }
