"""Candidates who are away, late or gone: said by the lead with a reason, and never altered."""

from __future__ import annotations

from datetime import datetime
from math import isfinite, isnan, nan
from typing import Final

from fabella.errors import Problems, suggestion
from fabella.exam import MINUTES_OF_A_DAY, Attendance, Presence, clock
from fabella.store.actor import Actor
from fabella.store.exams import models
from fabella.store.exams.leading import Stage, after_decision, check_reason, exam_of, stage_of
from fabella.store.exams.papers import timetable_of
from fabella.store.refusals import Frozen
from fabella.store.router import EXAMS
from fabella.store.writing import writing

_TIMED: Final = (Presence.LATE, Presence.LEFT)


def state_presence(
    actor: Actor, exam_id: int, candidate: str, presence: Presence, *, at_min: float, why: str, now: datetime
) -> None:
    """Keep whether a candidate is there.

    Parameters
    ----------
    at_min
        When they come or have left, in minutes after midnight; NaN for the others.

    Raises
    ------
    Frozen
        Once results are released.
    InputError
        When they are not in the timetable, or time or reason are missing.
    """
    exam_of(actor, exam_id)
    why = " ".join(why.split())
    table = timetable_of(exam_id)
    names = tuple(each.id for each in table.day.candidates) if table else ()
    problems = Problems()
    if candidate not in names:
        remedy = suggestion(candidate, names) if candidate else "choose one"
        problems.add("candidate", candidate, "is not in the timetable", remedy)
    if presence in _TIMED and not (isfinite(at_min) and 0 <= at_min < MINUTES_OF_A_DAY):
        problems.add("time", "", "is missing", "write it as 10:40")
    check_reason(why, problems)
    problems.raise_any()
    with writing(EXAMS):
        if stage_of(exam_id) is Stage.RELEASED:
            raise Frozen("The results are released: nothing of this exam changes any more.")
        models.ExamPresence.objects.create(
            exam_id=exam_id,
            candidate=candidate,
            presence=presence.value,
            at_min=at_min if presence in _TIMED else None,
            why=why,
            by=actor.name,
            at=after_decision(exam_id, now),
        )


def attendance_of(exam_id: int) -> dict[str, Attendance]:
    """Return who is not there all day, by candidate: the last word on each."""
    rows = models.ExamPresence.objects.filter(exam_id=exam_id).order_by("id")
    last = {
        row.candidate: Attendance(
            presence=Presence(row.presence), at_min=nan if row.at_min is None else row.at_min, why=row.why
        )
        for row in rows
    }
    return {name: each for name, each in last.items() if each.presence is not Presence.HERE}


def presence_told(presence: str, at_min: float | None) -> str:
    """Return in words what was said, for the trail."""
    if at_min is None or isnan(at_min):
        return f"candidate {presence}"
    how = "late, comes" if presence == Presence.LATE else "left at"
    return f"candidate {how} {clock(at_min)}"
