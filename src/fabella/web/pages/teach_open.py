"""Giving a set to a class: on which terms, and from when until when."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problems
from fabella.store import Role
from fabella.store.school.classes import open_class
from fabella.store.school.sets import set_of
from fabella.teach import Terms
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled
from fabella.web.teaching.difficulty import MINUTES
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_MODES = (("", "as drawn and felt; they grade it"), ("yes", "told, as in a spoken exam"))
_ORDERS = (("", "the same for everybody"), ("yes", "each in an order of their own"))
_USUAL = timedelta(days=7)
_YEARS = range(1900, 2200)
"""Beyond, a year was mistyped, and the moment may have no place in the calendar of another clock."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TeachOpenPage:
    """The terms of a new class."""

    template: ClassVar[str] = "teach_open.html"

    set_id: int = field(metadata=said("Number of the set."))
    set_name: str = field(metadata=said("Name of the set."))
    patients: int = field(metadata=said("How many patients it has."))
    form: Form = field(metadata=said("What was typed, and what is wrong with it."))
    lengths: tuple[tuple[str, str], ...] = field(metadata=said("Lengths of a station: value and words."))
    modes: tuple[tuple[str, str], ...] = field(metadata=said("How findings come back: value and words."))
    orders: tuple[tuple[str, str], ...] = field(metadata=said("The order of the patients: value and words."))


@enter(Role.TEACHER, methods=SENDING)
def teach_open(request: Request, set_id: int) -> HttpResponse:
    """Open a class, or ask for its terms."""
    kept = set_of(request.person, set_id)
    form = _usual(request.now)
    if request.method == "POST":
        try:
            return _opened(request, set_id)
        except InputError as error:
            form = filled(request, error.problems)
    page = TeachOpenPage(
        set_id=kept.id,
        set_name=kept.name,
        patients=len(kept.patients),
        form=form,
        lengths=MINUTES,
        modes=_MODES,
        orders=_ORDERS,
    )
    return render(request, page, status=form.status)


def _usual(now: datetime) -> Form:
    def written(moment: datetime) -> str:
        return moment.astimezone().strftime("%Y-%m-%dT%H:%M")

    return blank(minutes="8", told="", shuffled="", opens=written(now), closes=written(now + _USUAL))


def _opened(request: Request, set_id: int) -> HttpResponse:
    typed, problems = request.POST.dict(), Problems()
    for place, allowed in (("minutes", MINUTES), ("told", _MODES), ("shuffled", _ORDERS)):
        if typed.get(place, "") not in {value for value, _ in allowed}:
            problems.add(place, typed[place], "is not known", "choose one of these")
    opens, closes = (_moment(place, typed, problems) for place in ("opens", "closes"))
    if problems or opens is None or closes is None:
        raise InputError(problems)
    minutes = typed.get("minutes", "")
    made = open_class(
        request.person,
        set_id,
        name=typed.get("name", ""),
        terms=Terms(minutes=float(minutes) if minutes else None, told=typed.get("told") == "yes"),
        shuffled=typed.get("shuffled") == "yes",
        opens=opens,
        closes=closes,
        now=request.now,
        dice=secrets.randbelow,
    )
    return HttpResponseRedirect(url("teach_class", class_id=made))


def _moment(place: str, typed: Mapping[str, str], problems: Problems) -> datetime | None:
    """Return a moment in the time of this machine, as a field for day and time gives it."""
    with suppress(ValueError, OverflowError, OSError):
        moment = datetime.fromisoformat(typed.get(place, "")).replace(tzinfo=None).astimezone()
        if moment.year in _YEARS:
            return moment
    problems.add(place, "", "is missing or wrong", "write day and time, as 2026-02-03T14:05")
    return None
