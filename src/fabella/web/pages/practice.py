"""Practice: choose a patient to examine, and look back at one's own runs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problems, suggestion
from fabella.protocol import load_protocol
from fabella.record import Setting
from fabella.stats.written import spaced
from fabella.store.school.practising import RunLine, begin_run, runs_of
from fabella.teach import Curriculum, Recipe, Terms, load_curricula
from fabella.teach.wording import CAUTION, lesson_words
from fabella.web.door import SENDING, enter_known
from fabella.web.forms import Form, blank, filled
from fabella.web.practice.due import bringing_up, due_today, new_recipe
from fabella.web.practice.record_words import DueGroup, due_groups
from fabella.web.teaching.difficulty import MINUTES
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

SETTINGS = tuple((each.value, spaced(each.value)) for each in Setting)
MODES = (("", "drawn and felt; I grade it"), ("yes", "told, as in a spoken exam"))


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRun:
    """One earlier run, in words."""

    id: int
    begun: datetime
    about: str
    terms: str
    finished: bool
    lesson: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticePage:
    """What to practise on, and what one practised before."""

    template: ClassVar[str] = "practice.html"

    form: Form = field(metadata=said("What was chosen, and what is wrong with it."))
    curricula: tuple[Curriculum, ...] = field(metadata=said("The sets of lesions that can be chosen."))
    settings: tuple[tuple[str, str], ...] = field(
        metadata=said("Where the patient is seen: value and words.")
    )
    minutes: tuple[tuple[str, str], ...] = field(metadata=said("Lengths of a station: value and words."))
    modes: tuple[tuple[str, str], ...] = field(metadata=said("How findings come back: value and words."))
    due: tuple[DueGroup, ...] = field(metadata=said("What of earlier runs is due, kind by kind."))
    runs: tuple[OwnRun, ...] = field(metadata=said("One's own earlier runs, the latest first."))
    unread: tuple[str, ...] = field(metadata=said("Of each run that cannot be read, why, and the way out."))
    caution: str = field(metadata=said("What practising on people needs."))


@enter_known(methods=SENDING)
def practice(request: Request) -> HttpResponse:
    """Begin a run with a new patient, or show what there is to choose."""
    form = blank(curriculum="first", setting=Setting.SPECIALIST_CLINIC.value, minutes="8", told="")
    if request.method == "POST":
        try:
            recipe, terms = _chosen(request.POST.dict())
            if request.POST.get("due"):
                recipe = bringing_up(due_today(request.person, request), recipe)
        except InputError as error:
            form = filled(request, error.problems)
        else:
            run = begin_run(request.person, recipe, terms, now=request.now)
            return HttpResponseRedirect(url("practice_run", run_id=run))
    runs = runs_of(request.person)
    page = PracticePage(
        form=form,
        curricula=tuple(load_curricula().values()),
        settings=SETTINGS,
        minutes=MINUTES,
        modes=MODES,
        due=due_groups(due_today(request.person, request), request.today),
        runs=tuple(map(_own, runs.read)),
        unread=runs.unread,
        caution=CAUTION,
    )
    return render(request, page, status=form.status)


def _chosen(typed: Mapping[str, str]) -> tuple[Recipe, Terms]:
    allowed = {
        "curriculum": list(load_curricula()),
        "setting": [value for value, _ in SETTINGS],
        "minutes": [value for value, _ in MINUTES],
        "told": [value for value, _ in MODES],
    }
    problems = Problems()
    for name, values in allowed.items():
        if (value := typed.get(name, "")) not in values:
            problems.add(name, value, "is not known", suggestion("", values))
    problems.raise_any()
    recipe = new_recipe(curriculum=typed["curriculum"], setting=typed["setting"])
    minutes = typed.get("minutes", "")
    return recipe, Terms(minutes=float(minutes) if minutes else None, told=typed.get("told") == "yes")


def _own(line: RunLine) -> OwnRun:
    clock = "no clock" if line.terms.minutes is None else f"{line.terms.minutes:g} minutes"
    lesson = "" if line.lesson is None else lesson_words(line.lesson, protocol=load_protocol())
    return OwnRun(
        id=line.id,
        begun=line.begun,
        about=f"{load_curricula()[line.curriculum].name}, {spaced(line.setting)}",
        terms=f"{clock}, {'told' if line.terms.told else 'drawn and felt'}",
        finished=line.finished,
        lesson=lesson,
    )
