"""Practice runs kept: begun, added to event by event, and read by the student whose they are alone."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from fabella.protocol import load_protocol
from fabella.store.kept import Several, reading_each, reading_kept
from fabella.store.refusals import NotThere
from fabella.store.remembered import Remembered
from fabella.store.router import SCHOOL
from fabella.store.school import models
from fabella.store.school.learner import Learner
from fabella.store.writing import ONE_PRESS, writing
from fabella.teach import (
    Act,
    Event,
    Lesson,
    Recipe,
    Terms,
    Topic,
    read_event,
    read_recipe,
    write_recipe,
)

_READ = 30_000
"""Events remembered as read: those of two hundred runs and more."""
_RUNS = 1024
"""Runs remembered with their events, so that each thing that is done reads one row."""

_known: Remembered[int, tuple[Event, ...]] = Remembered(_RUNS)


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
    """Keep the beginning of a run, and return its number: that of the one just begun, if it is the same."""
    with writing(SCHOOL):
        if (begun := _just_begun(learner, recipe, terms, now)) is not None:
            return begun
        return add_run(learner, recipe, terms, now=now).id


def _just_begun(learner: Learner, recipe: Recipe, terms: Terms, now: datetime) -> int | None:
    """Return a run of the same choice that a button pressed twice has begun a moment ago."""
    last = models.PracticeRun.objects.filter(student=learner.name).order_by("-id").first()
    if last is None or abs(now - last.begun) > ONE_PRESS or _terms(last) != terms:
        return None
    if models.PracticeEvent.objects.filter(run=last).exists():
        return None
    drawn = recipe_of(last)
    same = (drawn.curriculum, drawn.setting) == (recipe.curriculum, recipe.setting)
    return last.id if same else None


def add_run(learner: Learner, recipe: Recipe, terms: Terms, *, now: datetime) -> models.PracticeRun:
    """Return a new run, for whoever holds the right to write and keeps more with it."""
    return models.PracticeRun.objects.create(
        student=learner.name,
        begun=now,
        recipe=write_recipe(recipe),
        minutes=terms.minutes,
        told=terms.told,
    )


def runs_of(learner: Learner, *, most: int = 50) -> Several[RunLine]:
    """Return a person's own runs, the latest first, each that cannot be read named by its number and day."""
    rows = list(models.PracticeRun.objects.filter(student=learner.name).order_by("-id")[:most])
    ids = [row.id for row in rows]
    ended = finished_among(ids)
    lessons = {each.run_id: each for each in models.PracticeLesson.objects.filter(run_id__in=ids)}
    return reading_each(rows, lambda row: _line(row, row.id in ended, lessons.get(row.id)))


def finished_among(runs: Iterable[int]) -> set[int]:
    """Return which of these runs their students have ended; whose they are is asked elsewhere."""
    ends = models.PracticeEvent.objects.filter(run_id__in=list(runs), act=Act.FINISH.value)
    return set(ends.values_list("run_id", flat=True))


def run_of(learner: Learner, run_id: int) -> KeptRun:
    """Return one of a person's own runs; raise `NotThere` for every other."""
    row = own_run(learner, run_id)
    return KeptRun(
        id=row.id,
        begun=row.begun,
        recipe=recipe_of(row),
        terms=_terms(row),
        events=_events(row.id),
    )


def _events(run_id: int) -> tuple[Event, ...]:
    """Return the events of a run: what is remembered, for it never changes, and what was added since."""
    known = _known.get(run_id) or ()
    rows = models.PracticeEvent.objects.filter(run_id=run_id, number__gt=len(known)).order_by("number")
    with reading_kept(f"What was done in practice run {run_id}"):
        events = (*known, *map(_read, rows.values_list("event", flat=True)))
    _known.put(run_id, events)
    return events


@lru_cache(maxsize=_READ)
def _read(text: str) -> Event:
    """Return a kept event; what a class does over and over is read once, and is then the same object."""
    return read_event(json.loads(text), protocol=load_protocol())


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
        row = own_run(learner, run_id)
        if not models.PracticeLesson.objects.filter(run=row).exists():
            models.PracticeLesson.objects.create(
                run=row, topic=lesson.topic.value, about=lesson.about, brier=brier, log_bits=log_bits, at=now
            )


def lessons_before(learner: Learner, run_id: int) -> dict[str, int]:
    """Return how often each topic was the lesson of the runs that a person began before this one."""
    rows = models.PracticeLesson.objects.filter(run__student=learner.name, run_id__lt=run_id)
    return dict(Counter(rows.values_list("topic", flat=True)))


def owns(learner: Learner, run_id: int) -> bool:
    """Say whether a run is somebody's."""
    try:
        own_run(learner, run_id)
    except NotThere:
        return False
    return True


def own_run(learner: Learner, run_id: int) -> models.PracticeRun:
    """Return one of a person's own runs as it is kept; raise `NotThere` for every other."""
    return _own(learner.name, run_id)


@lru_cache(maxsize=_RUNS)
def _own(name: str, run_id: int) -> models.PracticeRun:
    """Return a run, whose row nobody can change; that there is none is asked anew each time."""
    row = models.PracticeRun.objects.filter(id=run_id, student=name).first()
    if row is None:
        raise NotThere("There is no such practice run of yours.")
    return row


def forget_runs() -> None:
    """Forget what is remembered of runs, for whoever points at another database."""
    _own.cache_clear()
    _known.forget()


def recipe_of(row: models.PracticeRun) -> Recipe:
    """Return the patient of a run; raise `Unreadable` for one that this program cannot read."""
    with reading_kept(f"The patient of practice run {row.id}"):
        return _recipe(row.recipe)


@lru_cache(maxsize=_RUNS)
def _recipe(text: str) -> Recipe:
    return read_recipe(text)


def lesson_of(row: models.PracticeLesson | None) -> Lesson | None:
    """Return what a run taught, None before that is known; raise `Unreadable` as `recipe_of` does."""
    if row is None:
        return None
    with reading_kept(f"The lesson of practice run {row.run_id}"):
        return Lesson(topic=Topic(row.topic), about=row.about)


def _terms(row: models.PracticeRun) -> Terms:
    return Terms(minutes=row.minutes, told=row.told)


def _line(row: models.PracticeRun, finished: bool, lesson: models.PracticeLesson | None) -> RunLine:  # noqa: FBT001
    recipe = recipe_of(row)
    return RunLine(
        id=row.id,
        begun=row.begun,
        curriculum=recipe.curriculum,
        setting=recipe.setting.value,
        terms=_terms(row),
        finished=finished,
        lesson=lesson_of(lesson),
    )
