"""A timetable asked for: worked out by another process while pages go on, as it may take half a minute."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from fabella.errors import InputError, Problem
from fabella.exam import Day, Timetable, make_timetable
from fabella.web.concluding import when_computed


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A day to place everybody on; ``kept`` and ``begun`` as in `fabella.exam.make_timetable`."""

    day: Day
    kept: Timetable | None = None
    begun: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """The timetable that was found, or why there is none."""

    timetable: Timetable | None = None
    problems: tuple[Problem, ...] = ()


def place(asked: Asked) -> Placed:
    """Return the timetable of a day, after some seconds."""
    try:
        return Placed(timetable=make_timetable(asked.day, kept=asked.kept, begun=asked.begun))
    except InputError as error:
        return Placed(problems=error.problems)


def placed_when_ready(asked: Asked) -> Placed | None:
    """Return what came of it, None while it is being worked out."""
    return when_computed(place, asked)


def rounds_begun(day: Day, on: date, now: datetime) -> int:
    """Return how many rounds of an exam have begun by the clock of this machine."""
    local = now.astimezone()
    if local.date() != on:
        return len(day.rounds) if local.date() > on else 0
    minutes = local.hour * 60 + local.minute
    return sum(1 for each in day.rounds if each.begins_min <= minutes)


def without(day: Day, examiner: str, first: int, last: int) -> Day:
    """Return a day on which an examiner is away from one round to another, both counted from 0."""
    away = frozenset(range(first, last + 1))
    return replace(
        day,
        examiners=tuple(
            replace(each, away=each.away | away) if each.id == examiner else each for each in day.examiners
        ),
    )
