"""Visits on one line in time: where each stands, and which can carry a date without covering another's."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from fabella.store.clinic.lines import VisitLine

FROM, TO = 6.0, 94.0  # per cent of the width: room for half a label at both ends
_APART = 20.0  # per cent: as wide as a date on a narrow phone
_TICKS_APART = 9.0
_DAYS_OF_ONE = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A visit on the line, at ``x`` per cent of its width; ``dated`` if there is room for its date."""

    x: float
    visit: VisitLine
    number: int
    dated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """The beginning of a year."""

    x: float
    year: int
    named: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """The line from the first visit to today; ``looks`` are the places of looks into a knee."""

    marks: tuple[Mark, ...]
    ticks: tuple[Tick, ...]
    looks: tuple[float, ...]


def turns(visits: Sequence[VisitLine]) -> dict[int, int]:
    """Return which visit of its day each is, from 1; those that are alone on their day are left out.

    ``visits`` are in order of time; the keys are the numbers of visits.
    """
    days = [visit.day for visit in visits]
    return {
        visit.id: days[:at].count(visit.day) + 1
        for at, visit in enumerate(visits)
        if days.count(visit.day) > 1
    }


def timeline(visits: Sequence[VisitLine], today: date, looks: Iterable[date] = ()) -> Timeline:
    """Return visits, in order of time, and looks after the first, on one line of at least a year."""
    if not visits:
        return Timeline(marks=(), ticks=(), looks=())
    end = max(today, visits[-1].day)
    start = min(visits[0].day, date.fromordinal(end.toordinal() - _DAYS_OF_ONE))
    span = (end - start).days

    def x(day: date) -> float:
        return round(FROM + (TO - FROM) * (day - start).days / span, 2)

    places = [x(visit.day) for visit in visits]
    dated = _with_room(places, _APART)
    years = [date(year, 1, 1) for year in range(start.year + 1, end.year + 1)]
    named = _with_room([x(day) for day in years], _TICKS_APART)
    return Timeline(
        marks=tuple(
            Mark(x=place, visit=visit, number=number, dated=number - 1 in dated)
            for number, (place, visit) in enumerate(zip(places, visits, strict=True), start=1)
        ),
        ticks=tuple(Tick(x=x(day), year=day.year, named=at in named) for at, day in enumerate(years)),
        looks=tuple(x(day) for day in sorted(set(looks))),
    )


def _with_room(places: Sequence[float], apart: float) -> set[int]:
    """Return which places can be labelled, the last and the first before any between."""
    chosen: set[int] = set()
    last = len(places) - 1
    for at in dict.fromkeys([last, 0, *range(last)]) if places else ():
        if all(abs(places[at] - places[other]) >= apart for other in chosen):
            chosen.add(at)
    return chosen
