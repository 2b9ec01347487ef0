"""A knee that heals after an operation: what it shows of itself, though nothing has gone wrong.

It is warm and full, does not bend or straighten fully, has a thin thigh and hurts, over the bone where one
was set or cut. What of this is usual at that time tells of no lesion, so that the leak of each such
manifestation is that of an operated knee without a complication. After small operations it is over sooner.
Each is usual for a time of its own: a thigh stays thin for years after a ligament was reconstructed, and a
reconstructed anterior cruciate ligament is often a little longer than the other, with a firm end.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fabella.evidence.facts import Knowledge
from fabella.evidence.operated import Healing
from fabella.infer.context import WIDER, Setting, tissue_of
from fabella.infer.network import Manifestation

SOONER = 2.0
"""By how much a knee heals faster after an operation through small wounds (judgement)."""
ALONE, ALONE_ACUTE = 0.8, 0.5
"""Share of operated knees that are troubled, while they heal, by nothing but that (judgement).

Most are seen because a visit was due, fewer when something came about of late, after the operation. Of
replaced knees fewer than one in ten go wrong within half a year (common practice).
"""
DAYS_A_WEEK = 7


def heals_within_weeks(
    days: float | None, *, small: bool, operation: str, knowledge: Knowledge
) -> int | None:
    """Return the period in which an operated knee is, by its last week, or None when nothing is usual.

    Parameters
    ----------
    days
        Since the operation; None when there was none, or nobody knows.
    small
        Whether it was done through small wounds.
    operation
        Its name.
    """
    if days is None:
        return None
    weeks = days / DAYS_A_WEEK * (SOONER if small else 1.0)
    tissues = _tissues(tissue_of(operation))
    periods = sorted({row.within_weeks for row in knowledge.healing if row.tissue in tissues})
    return next((each for each in periods if weeks <= each), None)


def healing_alone(setting: Setting) -> float:
    """Return the chance (0 to 1) that a knee only heals or comes for its review, else 0."""
    if not setting.heals:
        return 0.0 if setting.acuity == "acute" else setting.reviewed
    of_late = setting.acuity == "acute" and not setting.mended
    return ALONE_ACUTE if of_late else ALONE


def usual_while_healing(manifestation: str, knowledge: Knowledge, setting: Setting) -> Healing | None:
    """Return how often a manifestation is usual at this time, None when it is not.

    What is known of the tissue that was operated on goes before what holds after any operation.
    """
    rows = {
        each.tissue: each
        for each in knowledge.healing
        if (each.manifestation, each.within_weeks) == (manifestation, setting.healing)
    }
    return next((rows[each] for each in _tissues(setting.tissue) if each in rows), None)


def _tissues(own: str) -> tuple[str, ...]:
    """Return the tissues whose rows hold, the narrowest first."""
    return own, WIDER.get(own, ""), ""


def while_healing(manifestation: Manifestation, knowledge: Knowledge, setting: Setting) -> Manifestation:
    """Return a manifestation as it comes about in a knee that heals; in one that does not it is unchanged."""
    row = usual_while_healing(manifestation.name, knowledge, setting)
    if row is None:
        return manifestation
    leaks = np.array([not cause.parts for cause in manifestation.causes])
    return replace(
        manifestation,
        causes=tuple(
            cause if cause.parts else replace(cause, at_least=row.at_least, strength=row.strength)
            for cause in manifestation.causes
        ),
        chance=np.where(leaks[:, None], np.array(row.at_least), manifestation.chance),
    )
