"""Classes: a set given to students by a code, on terms and for a time."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from fabella.errors import InputError, Problem, Problems
from fabella.store.actor import Actor
from fabella.store.refusals import NotThere
from fabella.store.router import SCHOOL
from fabella.store.school import bench_models as bench
from fabella.store.school.learner import Learner
from fabella.store.school.sets import set_of, teacher, tidied
from fabella.store.short_codes import throw_code, tidy_code
from fabella.store.writing import ONE_PRESS, writing
from fabella.teach import Terms

CODE_LENGTH = 6
"""64 million codes: out of reach for whoever may guess a few dozen a quarter of an hour."""


class Stand(StrEnum):
    """How a class stands."""

    WAITING = "waiting"
    OPEN = "open"
    OVER = "over"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptClass:
    """A class; ``patients`` are ids in the order of the set, ``closes`` is when it was or will be over.

    One that was ``ended`` stays over, though the clock be set back.
    """

    id: int
    set_id: int
    set_name: str
    name: str
    code: str
    patients: tuple[int, ...]
    terms: Terms
    shuffled: bool
    opens: datetime
    closes: datetime
    ended: bool
    maker: str

    def stand(self, now: datetime) -> Stand:
        """Return how it stands."""
        if self.ended or now >= self.closes:
            return Stand.OVER
        return Stand.OPEN if now >= self.opens else Stand.WAITING


def open_class(
    actor: Actor,
    set_id: int,
    *,
    name: str,
    terms: Terms,
    shuffled: bool,
    opens: datetime,
    closes: datetime,
    now: datetime,
    dice: Callable[[int], int],
) -> int:
    """Give a set as it stands to a class, and return the number of the class.

    Where a button is pressed twice it is that of the one just made.

    Parameters
    ----------
    shuffled
        Whether each student has an order of their own, always the same one.
    dice
        Returns a number from 0 to below the one it is given, each as likely; the code is thrown with it.

    Raises
    ------
    InputError
        When the set is empty, the name wrong, or the time over before it began.
    """
    kept = set_of(actor, set_id)
    problems = Problems(_faults(name))
    if not kept.patients:
        problems.add("set", kept.name, "has no patient", "keep a patient in it first")
    if closes <= max(opens, now):
        problems.add("closes", "", "is too early", "choose a time after it opens, and after now")
    problems.raise_any()
    wanted = {
        "of_id": set_id,
        "name": tidied(name),
        "patients": json.dumps([each.id for each in kept.patients]),
        "minutes": terms.minutes,
        "told": terms.told,
        "shuffled": shuffled,
        "opens": opens,
        "closes": closes,
        "maker": actor.shown,
    }
    with writing(SCHOOL):
        just = bench.PracticeClass.objects.filter(**wanted, at__gt=now - ONE_PRESS, at__lte=now)
        if (same := just.first()) is not None:
            return same.id
        row = bench.PracticeClass.objects.create(**wanted, code=_new_code(dice), at=now)
    return row.id


def end_class(actor: Actor, class_id: int, *, now: datetime) -> None:
    """End a class now, unless it is over; what was begun in it can still be finished and read."""
    teacher(actor)
    with writing(SCHOOL):
        kept = _class(_row(id=class_id))
        if kept.stand(now) is not Stand.OVER:
            bench.ClassEnd.objects.create(of_id=class_id, at=now)


def classes_of(actor: Actor, *, of_set: int | None = None) -> tuple[KeptClass, ...]:
    """Return every class of the school, or of one set, the latest first."""
    teacher(actor)
    rows = bench.PracticeClass.objects.select_related("of", "end").order_by("-id")
    return tuple(map(_class, rows if of_set is None else rows.filter(of_id=of_set)))


def class_of(actor: Actor, class_id: int) -> KeptClass:
    """Return one class, for a teacher; raise `NotThere` if there is none."""
    teacher(actor)
    return _class(_row(id=class_id))


def class_by_code(code: str) -> KeptClass:
    """Return the class with a code, however it was typed, for whoever knows it; raise `NotThere`."""
    return _class(_row(code=tidy_code(code)))


def class_of_run(run_id: int) -> KeptClass | None:
    """Return the class in which a run was begun, None when it was in none; whose it is is asked elsewhere."""
    return _last_class(run_id=run_id)


def last_class_of(learner: Learner) -> KeptClass | None:
    """Return the class in which somebody began a run last, None when they never did."""
    return _last_class(run__student=learner.name)


def _last_class(**of_run: Any) -> KeptClass | None:
    runs = bench.ClassRun.objects.filter(**of_run).select_related("of__of", "of__end")
    last = runs.order_by("-run_id").first()
    return None if last is None else _class(last.of)


def _new_code(dice: Callable[[int], int]) -> str:
    while True:
        code = throw_code(dice, length=CODE_LENGTH)
        if not bench.PracticeClass.objects.filter(code=code).exists():
            return code


def _faults(name: str) -> list[Problem]:
    try:
        tidied(name)
    except InputError as error:
        return list(error.problems)
    return []


def _row(**about: Any) -> bench.PracticeClass:
    row = bench.PracticeClass.objects.select_related("of", "end").filter(**about).first()
    if row is None:
        raise NotThere("There is no such class.")
    return row


def _class(row: bench.PracticeClass) -> KeptClass:
    end: bench.ClassEnd | None = getattr(row, "end", None)
    return KeptClass(
        id=row.id,
        set_id=row.of_id,
        set_name=row.of.name,
        name=row.name,
        code=row.code,
        patients=tuple(json.loads(row.patients)),
        terms=Terms(minutes=row.minutes, told=row.told),
        shuffled=row.shuffled,
        opens=row.opens,
        closes=row.closes if end is None else min(end.at, row.closes),
        ended=end is not None,
        maker=row.maker,
    )
