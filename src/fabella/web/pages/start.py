"""The start: today's list, what is unfinished, and what to do when there is nobody yet."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import ClassVar

from django.http import Http404, HttpResponse

from fabella.store import Role
from fabella.store.clinic.details import EARLIEST
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.patients import has_invented, has_patients
from fabella.store.clinic.visits import unfinished_visits, visits_on
from fabella.web.door import enter, enter_known
from fabella.web.pages.first import GUIDED
from fabella.web.templating import render, said
from fabella.web.visitor import LOCAL, Request


@dataclass(frozen=True, slots=True, kw_only=True)
class StartPage:
    """What a clinician sees first."""

    template: ClassVar[str] = "start.html"

    today: date = field(metadata=said("Today, where this machine stands."))
    visits: tuple[VisitLine, ...] = field(
        metadata=said("Visits of today, in the order in which they were begun.")
    )
    unfinished: tuple[VisitLine, ...] = field(
        metadata=said("Visits of earlier days that were not signed, the latest first.")
    )
    is_empty: bool = field(
        metadata=said("Whether there is no patient yet, so that the page explains itself.")
    )
    is_demo: bool = field(metadata=said("Whether invented people are here, through whom one is led."))
    is_local: bool = field(
        metadata=said("Whether nobody needs an account here, because only this machine can enter.")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPage:
    """The visits of one day."""

    template: ClassVar[str] = "day.html"

    shown: date = field(metadata=said("The day."))
    before: date = field(metadata=said("The day before it."))
    after: date | None = field(metadata=said("The day after it; None when it lies in the future."))
    visits: tuple[VisitLine, ...] = field(metadata=said("Its visits, in the order in which they were begun."))


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingPage:
    """What somebody sees whose account opens nothing in this version."""

    template: ClassVar[str] = "waiting.html"

    roles: tuple[Role, ...] = field(metadata=said("What the account is for."))


@enter_known()
def start(request: Request) -> HttpResponse:
    """Show a clinician the day, and everybody else what their account is for."""
    person = request.person
    if Role.CLINICIAN not in person.roles:
        return render(request, WaitingPage(roles=tuple(role for role in Role if role in person.roles)))
    page = StartPage(
        today=request.today,
        visits=visits_on(person, request.today, now=request.now),
        unfinished=unfinished_visits(person, before=request.today, now=request.now),
        is_empty=not has_patients(person),
        is_demo=has_invented(person, GUIDED),
        is_local=person.name == LOCAL,
    )
    return render(request, page)


@enter(Role.CLINICIAN)
def day(request: Request, day: str) -> HttpResponse:
    """Show the visits of a day."""
    try:
        shown = date.fromisoformat(day)
    except ValueError:
        raise Http404 from None
    if shown < EARLIEST:
        raise Http404
    page = DayPage(
        shown=shown,
        before=shown - timedelta(days=1),
        after=shown + timedelta(days=1) if shown < request.today else None,
        visits=visits_on(request.person, shown, now=request.now),
    )
    return render(request, page)
