"""Exams as their leads see them: made by a teacher, on a day, at a stage."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Any

from django.db.models import Max, OuterRef, QuerySet, Subquery

from fabella.errors import InputError, Problems
from fabella.store.actor import Actor, Role
from fabella.store.exams import models
from fabella.store.refusals import NotAllowed, NotThere
from fabella.store.router import EXAMS
from fabella.store.writing import ONE_PRESS, writing

LONGEST_NAME, LONGEST_REASON = 80, 200
_YEARS = range(1900, 2200)
"""Of an exam's day: beyond, a year was mistyped, and its moments may have no place in a calendar."""


class Stage(StrEnum):
    """How an exam stands."""

    DRAFT = "draft"
    OPEN = "open"
    CLOSED = "closed"
    RELEASED = "released"

    @property
    def is_over(self) -> bool:
        """Whether marking is."""
        return self in (Stage.CLOSED, Stage.RELEASED)

    @property
    def can_be_settled(self) -> bool:
        """Whether sheets have been marked, and what is wrong with them can still be put right."""
        return self in (Stage.OPEN, Stage.CLOSED)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptExam:
    """An exam as it stands; ``by`` is the account that made it."""

    id: int
    name: str
    day: date
    stage: Stage
    by: str
    at: datetime


def lead(actor: Actor) -> None:
    """Raise `NotAllowed` unless somebody may lead exams."""
    if Role.TEACHER not in actor.roles:
        raise NotAllowed("This is for teachers, who lead exams.")


def check_reason(why: str, problems: Problems) -> None:
    """Add to the problems that a reason, in one line, is none or too long to be kept."""
    if not 0 < len(why) <= LONGEST_REASON:
        problems.add("why", why[:20], "is no reason", f"write 1 to {LONGEST_REASON} letters")


def make_exam(actor: Actor, name: str, *, day: date, now: datetime) -> int:
    """Keep a new exam, and return its number: that of the one just made, where a button is pressed twice.

    Raises `InputError` for a name that is empty, long or taken, and for a day of a year that none is held in.
    """
    lead(actor)
    kept = " ".join(name.split())
    if day.year not in _YEARS:
        remedy = "write a day, as 2026-02-03"
        raise InputError.of(place="day", value=str(day), says="is out of range", remedy=remedy)
    with writing(EXAMS):
        same = models.Exam.objects.filter(name__iexact=kept, day=day)
        just = same.filter(name=kept, by=actor.name, at__gt=now - ONE_PRESS, at__lte=now)
        if (made := just.first()) is not None:
            return made.id
        remedy = ""
        if not kept or len(kept) > LONGEST_NAME:
            remedy = f"write 1 to {LONGEST_NAME} letters"
        elif same.exists():
            remedy = "there is one of this name on that day; choose another"
        if remedy:
            raise InputError.of(place="name", value=kept[:20], says="will not do", remedy=remedy)
        return models.Exam.objects.create(name=kept, day=day, by=actor.name, at=now).id


def exams_of(actor: Actor) -> tuple[KeptExam, ...]:
    """Return every exam, the latest day first."""
    lead(actor)
    return tuple(map(_kept, _with_stage().order_by("-day", "-id")))


def exam_of(actor: Actor, exam_id: int) -> KeptExam:
    """Return one exam, for its lead; raise `NotThere` if there is none."""
    lead(actor)
    return kept_exam(exam_id)


def kept_exam(exam_id: int) -> KeptExam:
    """Return one exam, for whoever has shown a code of it."""
    row = _with_stage().filter(id=exam_id).first()
    if row is None:
        raise NotThere("There is no such exam.")
    return _kept(row)


def stage_of(exam_id: int) -> Stage:
    """Return how an exam stands."""
    last = models.ExamStage.objects.filter(exam_id=exam_id).order_by("-id").values_list("stage", flat=True)
    return Stage(last[0]) if last else Stage.DRAFT


def after_decision(exam_id: int, now: datetime) -> datetime:
    """Return now, or a moment just after the last decision where a clock that was set back lies before it.

    Whatever is added to an exam is told by its time to have come after what was decided.
    """
    last = models.ExamResult.objects.filter(exam_id=exam_id).aggregate(last=Max("at"))["last"]
    return now if last is None or now > last else last + timedelta(microseconds=1)


def _with_stage() -> QuerySet[Any]:
    last = models.ExamStage.objects.filter(exam_id=OuterRef("id")).order_by("-id").values("stage")[:1]
    return models.Exam.objects.annotate(stage=Subquery(last))


def _kept(row: Any) -> KeptExam:
    stage = Stage(row.stage or Stage.DRAFT)
    return KeptExam(id=row.id, name=row.name, day=row.day, stage=stage, by=row.by, at=row.at)
