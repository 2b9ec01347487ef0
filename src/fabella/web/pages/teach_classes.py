"""What all classes of a span of time miss, for whoever plans the next year."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import ClassVar
from urllib.parse import urlencode

from django.http import HttpResponse

from fabella.errors import InputError, Problem, Problems
from fabella.store import Role
from fabella.store.school.classes import KeptClass, classes_of
from fabella.store.school.sums import sums_over
from fabella.web.door import enter
from fabella.web.files import sent_file
from fabella.web.forms import Form, blank
from fabella.web.teaching.class_lines import ClassLine, class_line
from fabella.web.teaching.sums_words import SumsWords, sums_table, sums_words
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True, kw_only=True)
class TeachClassesPage:
    """The classes that opened in a span of days."""

    template: ClassVar[str] = "teach_classes.html"

    form: Form = field(metadata=said("The first and the last day, and what is wrong with them."))
    classes: tuple[ClassLine, ...] = field(metadata=said("The classes, the latest first."))
    sums: SumsWords = field(metadata=said("What all of them did and missed."))
    table: str = field(metadata=said("Address of the sums as a table."))


@enter(Role.TEACHER)
def teach_classes(request: Request) -> HttpResponse:
    """Show what the classes of a span missed; of the last year unless days are named."""
    problems: tuple[Problem, ...] = ()
    try:
        first, last = _span(request)
    except InputError as error:
        (first, last), problems = _usual(request), error.problems
    classes = _opened(request, first, last)
    span = {"from": first.isoformat(), "until": last.isoformat()}
    shown = dict(request.GET.items()) if problems else span
    page = TeachClassesPage(
        form=Form(blank(**shown).typed, problems),
        classes=tuple(class_line(each, request.now) for each in classes),
        sums=sums_words(sums_over(request.person, classes, now=request.now)),
        table=f"{url('teach_classes_table')}?{urlencode(span)}",
    )
    return render(request, page, status=page.form.status)


@enter(Role.TEACHER)
def teach_classes_table(request: Request) -> HttpResponse:
    """Send the sums of a span as a table."""
    first, last = _span(request)
    sums = sums_over(request.person, _opened(request, first, last), now=request.now)
    return sent_file(sums_table(sums), f"classes-{first}-{last}.csv")


def _opened(request: Request, first: date, last: date) -> list[KeptClass]:
    """Return the classes that opened on these days, where this machine stands."""
    return [each for each in classes_of(request.person) if first <= each.opens.astimezone().date() <= last]


def _usual(request: Request) -> tuple[date, date]:
    return request.today - _YEAR, request.today


def _span(request: Request) -> tuple[date, date]:
    days, problems = list(_usual(request)), Problems()
    for place, name in enumerate(("from", "until")):
        if typed := request.GET.get(name, ""):
            try:
                days[place] = date.fromisoformat(typed)
            except ValueError:
                problems.add(name, typed, "is no day", "write a day, as 2026-02-03")
    if not problems and days[1] < days[0]:
        problems.add("until", "", "comes before the first day", "choose a later day")
    problems.raise_any()
    return days[0], days[1]
