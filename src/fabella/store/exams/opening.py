"""An exam from stage to stage: opened for marking, closed, released, and back with a reason."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from fabella.assess import Rules, write_rules
from fabella.errors import Problem, Problems
from fabella.store.actor import Actor
from fabella.store.exams import models
from fabella.store.exams.leading import Stage, check_reason, exam_of, kept_exam
from fabella.store.exams.papers import USUAL_RULES, add_version
from fabella.store.exams.results import unreleasable
from fabella.store.exams.settling import in_dispute
from fabella.store.exams.stations import unready
from fabella.store.refusals import Frozen
from fabella.store.router import EXAMS
from fabella.store.writing import writing

_ONWARD: Final = {(Stage.DRAFT, Stage.OPEN), (Stage.OPEN, Stage.CLOSED), (Stage.CLOSED, Stage.RELEASED)}
_BACK: Final = {(Stage.OPEN, Stage.DRAFT), (Stage.CLOSED, Stage.OPEN), (Stage.RELEASED, Stage.CLOSED)}
"""Ways back, each with a reason."""


def move(
    actor: Actor, exam_id: int, stage: Stage, *, why: str = "", now: datetime, usual: Rules | None = None
) -> None:
    """Bring an exam to another stage.

    On is from draft to open, closed and released; back is one step, with a reason. It can be opened once
    there is a timetable with everybody placed and every station written, be closed once no dispute on a sheet
    is left unsettled without a reason, go back to draft while nothing is marked, and be released once there
    is a result that nothing has overtaken.

    When it is opened, the usual rules are kept as they are then: what nobody declares is decided by them,
    whatever is usual in the program that decides.

    Parameters
    ----------
    usual
        What is usual; None: the usual rules of this program.

    Raises
    ------
    Frozen
        When there is no such way as things stand.
    InputError
        When something is wanting.
    """
    exam_of(actor, exam_id)
    why = " ".join(why.split())
    with writing(EXAMS):
        before = kept_exam(exam_id).stage
        if (before, stage) not in _ONWARD | _BACK:
            raise Frozen(f"This exam is {before.value}; from there it cannot become {stage.value}.")
        problems = Problems()
        if why or (before, stage) in _BACK:
            check_reason(why, problems)
        problems += _wanting(exam_id, before, stage)
        problems.raise_any()
        if (before, stage) == (Stage.DRAFT, Stage.OPEN):
            add_version(actor, exam_id, USUAL_RULES, write_rules(usual or Rules()), now=now)
        models.ExamStage.objects.create(exam_id=exam_id, stage=stage.value, why=why, by=actor.name, at=now)


def _wanting(exam_id: int, before: Stage, stage: Stage) -> list[Problem]:
    """Return what has to be there before an exam may come to a stage."""
    if (before, stage) == (Stage.DRAFT, Stage.OPEN):
        return unready(exam_id)
    if stage is Stage.DRAFT and models.MarkEvent.objects.filter(exam_id=exam_id).exists():
        remedy = "close it instead; what was used is not altered"
        return [Problem(place="marks", says="are there already", remedy=remedy)]
    if stage is Stage.RELEASED:
        return unreleasable(exam_id)
    if (before, stage) == (Stage.OPEN, Stage.CLOSED):
        return in_dispute(exam_id)
    return []
