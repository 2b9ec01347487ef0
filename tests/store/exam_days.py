"""A small exam for tests: two stations, two rounds, three candidates, two examiners; nobody is real."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from itertools import count
from random import Random
from typing import Any

from fabella.exam import (
    Candidate,
    Day,
    Duty,
    Examiner,
    Item,
    Round,
    Seat,
    Station,
    Timetable,
    write_station,
    write_timetable,
)
from fabella.store import Role
from fabella.store.batches import Result
from fabella.store.exams.codes import ExamPass, Kind, make_codes, pass_by_code
from fabella.store.exams.leading import Stage, make_exam
from fabella.store.exams.marking import add_events
from fabella.store.exams.opening import move
from fabella.store.exams.papers import put_paper
from tests.store.people import NOW, actor

TIM = actor("tim", Role.TEACHER)
DICE = Random(5).randrange
AT = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
_keys = count()


def station(name: str) -> Station:
    """A station with three items."""
    items = [
        Item(id=each, words=f"Does {each}", domain="technique", anchors=("no", "partly", "well"))
        for each in ("look", "feel", "move")
    ]
    return Station(
        id=name,
        title=name.title(),
        topic="ligaments",
        minutes=8,
        items=tuple(items),
        task="Examine.",
        volunteer="Lie still.",
        equipment=(),
    )


def timetable(**changes: Any) -> Timetable:
    """Round 1: C1 and C2; round 2: C3. Edith examines `one`, Fred examines `two`."""
    day = Day(
        stations=("one", "two"),
        circuits=("A",),
        rounds=(Round(begins_min=540), Round(begins_min=600)),
        examiners=(Examiner(id="Edith"), Examiner(id="Fred"), Examiner(id="Rex", reserve=True)),
        candidates=(Candidate(id="C1"), Candidate(id="C2"), Candidate(id="C3")),
    )
    duties = [
        Duty(turn=turn, circuit="A", station=name, examiner=examiner)
        for turn in (0, 1)
        for name, examiner in (("one", "Edith"), ("two", "Fred"))
    ]
    seats = (
        Seat(turn=0, circuit="A", first=0, candidate="C1"),
        Seat(turn=0, circuit="A", first=1, candidate="C2"),
        Seat(turn=1, circuit="A", first=0, candidate="C3"),
    )
    return replace(Timetable(day=day, seats=seats, duties=tuple(duties)), **changes)


def drafted() -> int:
    """An exam with all its papers, not yet open."""
    exam = make_exam(TIM, f"Finals {next(_keys)}", day=NOW.date(), now=NOW)
    for name in ("one", "two"):
        put_paper(TIM, exam, f"station:{name}", write_station(station(name)), now=NOW)
    put_paper(TIM, exam, "timetable", write_timetable(timetable()), now=NOW)
    return exam


def opened() -> int:
    """An exam that is open."""
    exam = drafted()
    move(TIM, exam, Stage.OPEN, now=NOW)
    return exam


def bearer(exam: int, person: str, kind: Kind = Kind.EXAMINER) -> ExamPass:
    """Somebody who has shown their code."""
    ((_, code),) = make_codes(TIM, exam, kind, [person], now=NOW, dice=DICE)
    return pass_by_code(code)


def event(act: str, *, candidate: str = "C1", station: str = "one", **about: Any) -> dict[str, Any]:
    """An event as it is sent."""
    made = {"id": f"made-for-the-test-{next(_keys)}", "candidate": candidate, "station": station}
    return {**made, "act": act, "at": AT.isoformat(), **about}


def marks(*values: Any, **about: Any) -> Iterator[dict[str, Any]]:
    """Events that mark the items in order."""
    for item, value in zip(("look", "feel", "move"), values, strict=False):
        yield event("mark", item=item, mark=value, **about)


def say(who: ExamPass, *events: dict[str, Any], device: str = "tablet-1") -> tuple[Result, ...]:
    """Send events as an examiner."""
    return add_events(who, events, device=device, now=NOW)
