"""Practice runs kept: begun, added to event by event, and read by the student whose they are alone."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
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
    protocol = load_protocol()
    events = models.PracticeEvent.objects.filter(run=row).order_by("number").values_list("event", flat=True)
    return KeptRun(
        id=row.id,
        begun=row.begun,
        recipe=read_recipe(row.recipe),
        terms=_terms(row),
        events=tuple(read_event(json.loads(text), protocol=protocol) for text in events),
    )


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
    with writing(SCHOOL):
        row = _own(learner, run_id)
        known = {each.key: each for each in models.PracticeEvent.objects.filter(run=row)}
        return tuple([_added(row, dict(each), known, now) for each in batch])


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


def _added(
    row: models.PracticeRun, sent: dict[str, Any], known: dict[str, models.PracticeEvent], now: datetime
) -> Result:
    key = sent.pop("id", "")
    if not isinstance(key, str) or not _KEY.fullmatch(key):
        return _refused(str(key)[:64], "id", "is none", "16 to 64 letters, digits and dashes")
    try:
        event = read_event(sent, protocol=load_protocol())
    except InputError as error:
        return Result(key=key, kept=Kept.REFUSED, problems=error.problems)
    text = json.dumps(event_tree(event))
    if (earlier := known.get(key)) is not None:
        if earlier.event != text:
            return _refused(key, "id", "was used for something else", "make a new id")
        return Result(key=key, kept=Kept.SAVED, number=earlier.number)
    if any(each.act == Act.FINISH.value for each in known.values()):
        return _refused(key, "event", "comes after the end of the run", "begin another run")
    if len(known) >= MOST_EVENTS:
        return _refused(key, "event", "is one too many for a run", "finish the run")
    kept = models.PracticeEvent.objects.create(
        run=row, number=len(known) + 1, key=key, act=event.act.value, event=text, at=now
    )
    known[key] = kept
    return Result(key=key, kept=Kept.SAVED, number=kept.number)


def _refused(key: str, place: str, says: str, remedy: str) -> Result:
    problem = Problem(place=place, value=key, says=says, remedy=remedy)
    return Result(key=key, kept=Kept.REFUSED, problems=(problem,))
