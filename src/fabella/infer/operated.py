"""What the record tells of operations on one knee, as the model takes it."""

from __future__ import annotations

from fabella.anatomy import Side
from fabella.evidence.facts import Knowledge
from fabella.infer.context import PROSTHESIS
from fabella.infer.healing import DAYS_A_WEEK, heals_within_weeks
from fabella.record import Examination, ProcedureName

LATELY_DAYS = 365
"""How long after an operation what follows from it is commoner: stiffness, infection (judgement)."""


def replaced(examination: Examination, side: Side, *, symptomatic: bool) -> bool:
    """Say whether the knee is a total prosthesis: by what was done to it, or by the answer of the patient.

    The answer is about the knee complained of and means a total one, as most are (common practice), unless
    it is known that only a part was replaced.
    """
    done = examination.procedure_of(side)
    if done is not None and done.name.is_replacement:
        return done.name is ProcedureName.TOTAL_KNEE_REPLACEMENT
    return symptomatic and examination.history.get(PROSTHESIS) is True


def procedure_is(examination: Examination, side: Side, name: ProcedureName) -> bool:
    """Say whether the latest thing done to a knee was this."""
    done = examination.procedure_of(side)
    return done is not None and done.name is name


def operated_lately(examination: Examination, side: Side) -> bool:
    """Say whether the record has an operation on this knee in the year before the examination."""
    days = examination.days_since_operation(side)
    return days is not None and days <= LATELY_DAYS


def mended_by(examination: Examination, side: Side) -> str:
    """Return the operation that was done on a knee since its trouble began, empty when there was none.

    Where nobody knows when that was, the operation is taken to have been for it.
    """
    done = examination.procedure_of(side)
    return "" if done is None or examination.operated_since_onset(side) is False else done.name.value


def latest_procedure(examination: Examination, side: Side) -> str:
    """Return the latest thing done to a knee, empty when the record has none."""
    done = examination.procedure_of(side)
    return "" if done is None else done.name.value


def healing_weeks(examination: Examination, side: Side, knowledge: Knowledge) -> int | None:
    """Return what `heals_within_weeks` says of the latest operation on this knee."""
    done, days = examination.procedure_of(side), examination.days_since_operation(side)
    return heals_within_weeks(
        days,
        small=done is not None and done.name.is_small,
        operation=latest_procedure(examination, side),
        knowledge=knowledge,
    )


def only_reviewed(examination: Examination, side: Side, knowledge: Knowledge) -> float:
    """Return the share (0 to 1) of knees operated on as long ago that only come for a review of it.

    0 when what is complained of began after the operation, or nobody knows the day of it.
    """
    days = examination.days_since_operation(side)
    if days is None or examination.operated_since_onset(side) is False:
        return 0.0
    name = latest_procedure(examination, side)
    later = {
        row.within_weeks: row.share
        for row in knowledge.reviews
        if row.operation == name and days <= row.within_weeks * DAYS_A_WEEK
    }
    return later[min(later)] if later else 0.0
