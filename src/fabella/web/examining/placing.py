"""A timetable asked for: worked out while pages go on, as it may take half a minute.

It has a process of its own, which ends with it: conclusions are never kept waiting behind it.
"""

from __future__ import annotations

from concurrent.futures import BrokenExecutor, Future
from dataclasses import dataclass, replace
from datetime import date, datetime
from threading import Lock

from fabella.errors import InputError, Problem
from fabella.exam import Day, Timetable, make_timetable
from fabella.web.elsewhere import is_elsewhere
from fabella.web.workers import Workers


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
    """Return what came of it, None while it is being worked out.

    One is worked out at a time; whoever asks for another meanwhile is told to ask again.
    """
    if not is_elsewhere():
        return place(asked)
    with _lock:
        found = _asked.get(asked)
        if found is None:
            if any(not each.done() for each in _asked.values()):
                return None
            _asked.clear()
            _asked[asked] = found = _workers.start(place, asked)
        if not found.done():
            return None
        _workers.end()
        try:
            return found.result()
        except BrokenExecutor:  # the process was ended from outside: the next asking begins anew
            del _asked[asked]
            return None


_workers = Workers(1)
_lock = Lock()
_asked: dict[Asked, Future[Placed]] = {}


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
