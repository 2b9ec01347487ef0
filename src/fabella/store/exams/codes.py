"""Codes that let examiners and candidates in without an account: shown once, kept as a hash, taken back."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from fabella.errors import InputError, Problem, suggestion
from fabella.store.actor import Actor
from fabella.store.exams import models
from fabella.store.exams.leading import exam_of, lead
from fabella.store.exams.papers import timetable_of
from fabella.store.refusals import NotThere
from fabella.store.router import EXAMS
from fabella.store.short_codes import hash_code, throw_code, tidy_code
from fabella.store.writing import writing


class Kind(StrEnum):
    """What a code lets its bearer do: mark at their own station, or read their own result."""

    EXAMINER = "examiner"
    CANDIDATE = "candidate"


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamPass:
    """Somebody who has shown a code: all they may do is of this exam, and theirs."""

    code_id: int
    exam_id: int
    kind: Kind
    person: str

    @property
    def name(self) -> str:
        """A name for what they write; no account's has a colon."""
        return f"exam:{self.exam_id}:{self.kind.value}:{self.person}"


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeLine:
    """Who of an exam has a code, and since when; ``at`` None: none that holds."""

    kind: Kind
    person: str
    at: datetime | None


def make_codes(
    actor: Actor,
    exam_id: int,
    kind: Kind,
    people: Iterable[str],
    *,
    now: datetime,
    dice: Callable[[int], int],
) -> tuple[tuple[str, str], ...]:
    """Make codes, and return person and code, which nobody can ever look up again.

    Whoever had a code before is let in by the new one alone; what waits on a tablet can be sent by it.

    Raises
    ------
    InputError
        When somebody is not in the timetable, nor was when something was written on their sheets.
    """
    exam_of(actor, exam_id)
    wanted, known = tuple(dict.fromkeys(people)), _people(exam_id, kind)
    problems = [
        Problem(place=kind.value, value=name, says="is not in the timetable", remedy=suggestion(name, known))
        for name in wanted
        if name not in known
    ]
    if problems or not wanted:
        none = Problem(place=kind.value, says="is missing", remedy="name at least one")
        raise InputError(problems or [none])
    made: dict[str, tuple[str, str]] = {}
    for name in wanted:  # hashed before everybody else waits for the right to write
        code = throw_code(dice)
        while code in made or models.ExamCode.objects.filter(code_hash=hash_code(code)).exists():
            code = throw_code(dice)
        made[code] = name, hash_code(code)
    with writing(EXAMS):
        _end(_holding(exam_id, kind, wanted), now)
        for name, hashed in made.values():
            models.ExamCode.objects.create(
                exam_id=exam_id, kind=kind.value, person=name, code_hash=hashed, at=now
            )
        _note(actor, exam_id, f"{kind.value} codes made", wanted, now)
    return tuple((name, code) for code, (name, _) in made.items())


def end_code(actor: Actor, exam_id: int, kind: Kind, person: str, *, now: datetime) -> None:
    """Let somebody's code open nothing any more; raise `NotThere` when they have none."""
    exam_of(actor, exam_id)
    with writing(EXAMS):
        holding = _holding(exam_id, kind, (person,))
        if not holding:
            raise NotThere("They have no code that holds.")
        _end(holding, now)
        _note(actor, exam_id, f"{kind.value} code taken back", (person,), now)


def code_lines(actor: Actor, exam_id: int, kind: Kind) -> tuple[CodeLine, ...]:
    """Return everybody of a kind, and who else has a code, with the time it was made."""
    lead(actor)
    rows = models.ExamCode.objects.filter(exam_id=exam_id, kind=kind.value, end__isnull=True)
    held = dict(rows.values_list("person", "at"))
    names = dict.fromkeys((*_people(exam_id, kind), *held))
    return tuple(CodeLine(kind=kind, person=name, at=held.get(name)) for name in names)


def ever_coded(exam_id: int, kind: Kind) -> frozenset[str]:
    """Return who was ever given a code, whether it still holds or not."""
    rows = models.ExamCode.objects.filter(exam_id=exam_id, kind=kind.value)
    return frozenset(rows.values_list("person", flat=True))


def pass_by_code(typed: str) -> ExamPass:
    """Return the pass of a code, however it was typed; raise `NotThere` for every other."""
    row = models.ExamCode.objects.filter(code_hash=hash_code(tidy_code(typed)), end__isnull=True).first()
    if row is None:
        raise NotThere("There is no such code.")
    return _pass(row)


def pass_of(code_id: int) -> ExamPass | None:
    """Return the pass of a code that was shown before, None once it was taken back."""
    row = models.ExamCode.objects.filter(id=code_id, end__isnull=True).first()
    return None if row is None else _pass(row)


def _people(exam_id: int, kind: Kind) -> tuple[str, ...]:
    """Return who is in the timetable, and candidates taken off it after something was written on a sheet."""
    table = timetable_of(exam_id)
    if table is None:
        return ()
    if kind is Kind.EXAMINER:
        return tuple(each.id for each in table.day.examiners)
    rows = models.MarkEvent.objects.filter(exam_id=exam_id).order_by("candidate")
    marked = rows.values_list("candidate", flat=True).distinct()
    return tuple(dict.fromkeys((*(each.id for each in table.day.candidates), *marked)))


def _holding(exam_id: int, kind: Kind, people: Iterable[str]) -> list[models.ExamCode]:
    return list(
        models.ExamCode.objects.filter(
            exam_id=exam_id, kind=kind.value, person__in=list(people), end__isnull=True
        )
    )


def _end(codes: Iterable[models.ExamCode], now: datetime) -> None:
    for each in codes:
        models.ExamCodeEnd.objects.create(code=each, at=now)


def _note(actor: Actor, exam_id: int, what: str, people: tuple[str, ...], now: datetime) -> None:
    few = 10
    about = ", ".join(people[:few]) + (f" and {len(people) - few} more" if len(people) > few else "")
    models.ExamTrace.objects.create(
        exam_id=exam_id, what=what, about=about[:300], why="", by=actor.name, at=now
    )


def _pass(row: models.ExamCode) -> ExamPass:
    return ExamPass(code_id=row.id, exam_id=row.exam_id, kind=Kind(row.kind), person=row.person)
