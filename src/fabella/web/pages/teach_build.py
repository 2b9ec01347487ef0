"""Building a practice patient: what it should have, and what it would be like, before it is kept in a set."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problems
from fabella.store import Role
from fabella.store.school.sets import KeptSet, add_patient, make_set_with, sets_of
from fabella.teach import Recipe, load_curricula, read_recipe, write_recipe
from fabella.web.door import SENDING, enter
from fabella.web.elsewhere import computed
from fabella.web.forms import Form, blank, filled, typed_whole
from fabella.web.teaching.difficulty import difficulty_words, minutes_in
from fabella.web.teaching.judging import difficulty_when_ready
from fabella.web.teaching.preview import Preview, preview_of
from fabella.web.teaching.wishing import (
    CHOICES,
    FIELDS,
    Options,
    granted,
    lesion_options,
    read_wish,
    wish_words,
)
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

NEW = "new"
"""In place of a set's number: a set that is made with its first patient."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TeachBuildPage:
    """The form of a patient."""

    template: ClassVar[str] = "teach_build.html"

    form: Form = field(metadata=said("What was chosen, and what is wrong with it."))
    into: str = field(metadata=said("Number of the set for which it is built; empty for none yet."))
    lesions: tuple[tuple[str, Options], ...] = field(metadata=said("Every lesion with its degrees."))
    curricula: Options = field(metadata=said("The curricula to draw from: value and words."))
    choices: Mapping[str, Options] = field(metadata=said("The circumstances that can be chosen."))


@dataclass(frozen=True, slots=True, kw_only=True)
class TeachPreviewPage:
    """A patient before it is kept."""

    template: ClassVar[str] = "teach_preview.html"

    preview: Preview = field(metadata=said("The patient."))
    wished: str = field(metadata=said("The lesions that were asked for; empty when they were drawn."))
    minutes: str = field(metadata=said("Minutes of the station for the difficulty; empty without a clock."))
    difficulty: str = field(metadata=said("How difficult it is; empty while it is being worked out."))
    carried: tuple[tuple[str, str], ...] = field(metadata=said("What the form held, and the recipe."))
    sets: tuple[KeptSet, ...] = field(metadata=said("The sets in which it can be kept."))
    form: Form = field(metadata=said("Its name and set as typed, and what is wrong with them."))


@enter(Role.TEACHER, methods=SENDING)
def teach_build(request: Request) -> HttpResponse:
    """Show the form, preview what it asks for, or keep what was previewed."""
    step = request.POST.get("step", "")
    if request.method == "POST" and step != "change":
        try:
            return _keep(request) if step == "keep" else _preview(request)
        except InputError as error:
            return _form(request, filled(request, error.problems))
    return _form(
        request, filled(request, ()) if step else blank(curriculum="first", setting="specialist_clinic")
    )


def _form(request: Request, form: Form) -> HttpResponse:
    page = TeachBuildPage(
        form=form,
        into=form.value("into") or request.GET.get("set", ""),
        lesions=lesion_options(),
        curricula=tuple((each.id, each.name) for each in load_curricula().values()),
        choices=CHOICES,
    )
    return render(request, page, status=form.status)


def _preview(request: Request, form: Form | None = None) -> HttpResponse:
    """Show what was asked for: with other dice, or as it was while its difficulty is awaited."""
    typed = request.POST.dict()
    if typed.get("step") == "again":
        typed["seed"] = ""
    wish = read_wish(typed, dice=secrets.randbelow)
    if form is not None or typed.get("step") == "look":
        recipe: Recipe | None = read_recipe(typed.get("recipe", ""))
    else:
        found = computed(granted, wish)
        Problems(found.problems).raise_any()
        recipe = found.recipe
    if recipe is None:
        raise ValueError("a wish is granted or it has problems")
    minutes, number = minutes_in(typed.get("minutes", "8"))
    difficulty = difficulty_when_ready(recipe, number)
    wished = wish_words(wish.lesions)
    carried = [(name, typed.get(name, "")) for name in (*FIELDS, "into")]
    carried.append(("recipe", write_recipe(recipe)))
    page = TeachPreviewPage(
        preview=computed(preview_of, recipe),
        wished=wished,
        minutes=minutes,
        difficulty="" if difficulty is None else difficulty_words(difficulty),
        carried=tuple(carried),
        sets=sets_of(request.person).read,
        form=form or blank(name=_suggested(wished, recipe), set=typed.get("into", "") or NEW),
    )
    return render(request, page, status=page.form.status)


def _keep(request: Request) -> HttpResponse:
    """Keep a previewed patient, in a set that is there or one that is made for it."""
    typed = request.POST
    recipe = read_recipe(typed.get("recipe", ""))
    wish = read_wish(typed.dict(), dice=secrets.randbelow)
    try:
        person, name, now = request.person, typed.get("name", ""), request.now
        if typed.get("set") == NEW:
            set_name = typed.get("set_name", "")
            into = make_set_with(person, set_name, recipe, name=name, wished=wish.lesions, now=now)
        else:
            into = typed_whole(typed.get("set", ""))
            add_patient(person, into, recipe, name=name, wished=wish.lesions, now=now)
    except InputError as error:
        return _preview(request, filled(request, error.problems))
    return HttpResponseRedirect(url("teach_set", set_id=into))


def _suggested(wished: str, recipe: Recipe) -> str:
    """Return a name to begin with."""
    about = wished or load_curricula()[recipe.curriculum].name
    age = f", {recipe.age_years} years" if recipe.age_years is not None else ""
    return f"{about[:1].upper()}{about[1:]}{age}"[:80]
