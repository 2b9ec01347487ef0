"""Practice runs kept: begun, added to event by event, and read by the student whose they are alone."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import lru_cache
from typing import Any

from fabella.errors import InputError, Problem
from fabella.protocol import load_protocol
from fabella.store.refusals import NotThere
from fabella.store.router import SCHOOL
from fabella.store.school import models
from fabella.store.school.learner import Learner
from fabella.store.writing import writing
from fabella.teach import (
    Act,
    Event,
    Lesson,
    Recipe,
    Terms,
    Topic,
    event_tree,
    read_event,
    read_recipe,
    write_recipe,
)

MOST_AT_ONCE = 100
MOST_EVENTS = 2000
"""Events a run can have: far more than an examination needs, so that no run grows without end."""

_READ = 30_000
"""Events remembered as read: those of two hundred runs and more."""

_KEY = re.compile(r"[A-Za-z0-9-]{16,64}")


class Kept(StrEnum):
    """What became of an event."""

    SAVED = "saved"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """The answer to one event; a repeat of it is answered the same."""

    key: str
    kept: Kept
    number: int | None = None
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLine:
    """One run in a student's own list; it tells the circumstances chosen, never the patient."""

    id: int
    begun: datetime
    curriculum: str
    setting: str
    terms: Terms
    finished: bool
    lesson: Lesson | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRun:
    """A run with everything from which it is played again; ``recipe`` never leaves the server."""

    id: int
    begun: datetime
    recipe: Recipe
    terms: Terms
    events: tuple[Event, ...]

    @property
    def finished(self) -> bool:
        """Whether the student has ended it."""
        return bool(self.events) and self.events[-1].act is Act.FINISH


def begin_run(learner: Learner, recipe: Recipe, terms: Terms, *, now: datetime) -> int:
    """Keep the beginning of a run, and return its number."""
    with writing(SCHOOL):
        return add_run(learner, recipe, terms, now=now).id


def add_run(learner: Learner, recipe: Recipe, terms: Terms, *, now: datetime) -> models.PracticeRun:
    """Return a new run, for whoever holds the right to write and keeps more with it."""
    return models.PracticeRun.objects.create(
        student=learner.name,
        begun=now,
        recipe=write_recipe(recipe),
        minutes=terms.minutes,
        told=terms.told,
    )


def runs_of(learner: Learner, *, most: int = 50) -> tuple[RunLine, ...]:
    """Return a person's own runs, the latest first."""
    rows = list(models.PracticeRun.objects.filter(student=learner.name).order_by("-id")[:most])
    ids = [row.id for row in rows]
    ended = set(
        models.PracticeEvent.objects.filter(run_id__in=ids, act=Act.FINISH.value).values_list(
            "run_id", flat=True
        )
    )
    lessons = {each.run_id: each for each in models.PracticeLesson.objects.filter(run_id__in=ids)}
    return tuple(_line(row, row.id in ended, lessons.get(row.id)) for row in rows)


def run_of(learner: Learner, run_id: int) -> KeptRun:
    """Return one of a person's own runs; raise `NotThere` for every other."""
    row = _own(learner, run_id)
    events = models.PracticeEvent.objects.filter(run=row).order_by("number").values_list("event", flat=True)
    return KeptRun(
        id=row.id,
        begun=row.begun,
        recipe=read_recipe(row.recipe),
        terms=_terms(row),
        events=tuple(map(_read, events)),
    )


@lru_cache(maxsize=_READ)
def _read(text: str) -> Event:
    """Return a kept event; what a class does over and over is read once, and is then the same object."""
    return read_event(json.loads(text), protocol=load_protocol())


def read_events(text: str | bytes) -> tuple[Mapping[str, Any], ...]:
    """Return the events of a batch, ``{"events": [{"id": …, "act": …}, …]}``; `InputError` if it is none."""
    try:
        tree = json.loads(text)
    except (ValueError, RecursionError):
        tree = None
    events = tree.get("events") if isinstance(tree, dict) else None
    if not isinstance(events, list) or not all(isinstance(each, dict) for each in events):
        says = 'is no list of events; write {"events": [{"id": …, "act": …}, …]}'
        raise InputError([Problem(place="events", value="", says=says, remedy="")])
    if len(events) > MOST_AT_ONCE:
        remedy = f"send at most {MOST_AT_ONCE} at once"
        raise InputError(
            [Problem(place="events", value=str(len(events)), says="are too many", remedy=remedy)]
        )
    return tuple(events)


def add_events(
    learner: Learner, run_id: int, batch: Sequence[Mapping[str, Any]], *, now: datetime
) -> tuple[Result, ...]:
    """Keep what a student did, in order, each event once; every event has its own answer."""
    row, sent = _own(learner, run_id), [_sent(dict(each)) for each in batch]
    keys = [each.key for each in sent]
    with writing(SCHOOL):  # everybody waits here: only what has to be done under it
        rows = models.PracticeEvent.objects.filter(run=row)
        known = {each.key: each for each in rows.filter(key__in=keys)}
        last = rows.order_by("number").last()
        return _added(row, sent, known, last, now)


def is_over(learner: Learner, run_id: int) -> bool:
    """Say whether a person has ended one of their runs."""
    rows = models.PracticeEvent.objects.filter(run=_own(learner, run_id), act=Act.FINISH.value)
    return rows.exists()


def keep_lesson(
    learner: Learner,
    run_id: int,
    lesson: Lesson,
    *,
    brier: float | None,
    log_bits: float | None,
    now: datetime,
) -> None:
    """Keep what a run taught, once: whoever reads the debrief again changes nothing."""
    with writing(SCHOOL):
        row = _own(learner, run_id)
        if not models.PracticeLesson.objects.filter(run=row).exists():
            models.PracticeLesson.objects.create(
                run=row, topic=lesson.topic.value, about=lesson.about, brier=brier, log_bits=log_bits, at=now
            )


def lessons_before(learner: Learner, run_id: int) -> dict[str, int]:
    """Return how often each topic was the lesson of the runs that a person began before this one."""
    rows = models.PracticeLesson.objects.filter(run__student=learner.name, run_id__lt=run_id)
    return dict(Counter(rows.values_list("topic", flat=True)))


def _own(learner: Learner, run_id: int) -> models.PracticeRun:
    row = models.PracticeRun.objects.filter(id=run_id, student=learner.name).first()
    if row is None:
        raise NotThere("There is no such practice run of yours.")
    return row


def _terms(row: models.PracticeRun) -> Terms:
    return Terms(minutes=row.minutes, told=row.told)


def _line(row: models.PracticeRun, finished: bool, lesson: models.PracticeLesson | None) -> RunLine:  # noqa: FBT001
    recipe = read_recipe(row.recipe)
    return RunLine(
        id=row.id,
        begun=row.begun,
        curriculum=recipe.curriculum,
        setting=recipe.setting.value,
        terms=_terms(row),
        finished=finished,
        lesson=None if lesson is None else Lesson(topic=Topic(lesson.topic), about=lesson.about),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sent:
    """What came in for one event: its kind and its text as it is kept, or why it cannot be."""

    key: str
    act: str = ""
    text: str = ""
    refused: Result | None = None


def _sent(tree: dict[str, Any]) -> _Sent:
    key = tree.pop("id", "")
    if not isinstance(key, str) or not _KEY.fullmatch(key):
        shown = str(key)[:64]
        return _Sent(
            key=shown, refused=_refused(shown, "id", "is none", "16 to 64 letters, digits and dashes")
        )
    try:
        event = read_event(tree, protocol=load_protocol())
    except InputError as error:
        return _Sent(key=key, refused=Result(key=key, kept=Kept.REFUSED, problems=error.problems))
    return _Sent(key=key, act=event.act.value, text=json.dumps(event_tree(event)))


def _added(
    row: models.PracticeRun,
    batch: Sequence[_Sent],
    known: dict[str, models.PracticeEvent],
    last: models.PracticeEvent | None,
    now: datetime,
) -> tuple[Result, ...]:
    """Keep what is new of a batch and answer all of it; events of a run are numbered without a gap."""
    results: list[Result] = []
    for each in batch:
        earlier = known.get(each.key)
        number = 1 if last is None else last.number + 1
        if each.refused is not None:
            results.append(each.refused)
        elif earlier is not None and earlier.event != each.text:
            results.append(_refused(each.key, "id", "was used for something else", "make a new id"))
        elif earlier is not None:
            results.append(Result(key=each.key, kept=Kept.SAVED, number=earlier.number))
        elif last is not None and last.act == Act.FINISH.value:
            results.append(_refused(each.key, "event", "comes after the end of the run", "begin another run"))
        elif number > MOST_EVENTS:
            results.append(_refused(each.key, "event", "is one too many for a run", "finish the run"))
        else:
            last = known[each.key] = models.PracticeEvent.objects.create(
                run=row, number=number, key=each.key, act=each.act, event=each.text, at=now
            )
            results.append(Result(key=each.key, kept=Kept.SAVED, number=number))
    return tuple(results)


def _refused(key: str, place: str, says: str, remedy: str) -> Result:
    problem = Problem(place=place, value=key, says=says, remedy=remedy)
    return Result(key=key, kept=Kept.REFUSED, problems=(problem,))
