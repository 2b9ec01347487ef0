"""The probabilities that were told, held against what was seen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from fabella.hands.confirmation import ABSENT, PRESENT
from fabella.hands.result import Surprise, Told
from fabella.hands.truth import Seen, Truth
from fabella.record import Examination
from fabella.stats import Interval, brier_parts, calibration
from fabella.stats.deferred import scipy
from fabella.workup import ANY_LEVEL, KneeConclusion, LesionProbability

_LEVEL = 0.95
HARDLY, NEARLY_CERTAIN = 0.2, 0.8
"""Below the one a lesion that was found is a surprise, above the other one that was not (judgement)."""
LIKELIER_THAN_NOT = 0.5
ENOUGH_TO_SPREAD = 2  # knees
MISLED = 3
"""So many findings are named that had spoken the wrong way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One lesion that was looked for: its probability (0..1) after and before the examination, and the truth.

    ``level_right`` says whether the likeliest level was the one found; None where no level was found, the
    lesion has one only, or it was not likelier than not.
    """

    probability: float
    before: float
    present: bool
    level_right: bool | None


def statements(knee: KneeConclusion, truth: Truth) -> tuple[Statement, ...]:
    """Return what was told of every lesion of one knee that was looked for."""
    return tuple(
        Statement(
            probability=entry.probability,
            before=entry.prior,
            present=seen.present,
            level_right=_level_right(knee, entry, seen),
        )
        for entry, seen in _looked_for(knee, truth)
    )


def surprises(examination: Examination, knee: KneeConclusion, truth: Truth) -> Iterator[Surprise]:
    """Yield what was found though hardly expected, and what was not though nearly certain."""
    for entry, seen in _looked_for(knee, truth):
        if not (entry.probability < HARDLY if seen.present else entry.probability > NEARLY_CERTAIN):
            continue
        wrong_way = entry.reasons_against if seen.present else entry.reasons_for
        yield Surprise(
            examination=examination.id,
            examined_on=examination.examined_on,
            side=knee.side,
            lesion=entry.lesion,
            found=seen.found,
            method=seen.method,
            seen_on=seen.on,
            probability=entry.probability,
            before=entry.prior,
            misled=tuple(wrong_way[:MISLED]),
        )


def told(by_knee: Sequence[Sequence[Statement]]) -> Told | None:
    """Return how the statements about each knee agree with the truth; None when there is none."""
    by_knee = [knee for knee in by_knee if knee]
    every = [statement for knee in by_knee for statement in knee]
    if not every:
        return None
    said, true = [each.probability for each in every], [each.present for each in every]
    levels = [each.level_right for each in every if each.level_right is not None]
    return Told(
        statements=len(every),
        knees=len(by_knee),
        bins=calibration(said, true),
        brier=brier_parts(said, true),
        before=brier_parts([each.before for each in every], true).brier,
        gain=_gain(by_knee),
        level_right=sum(levels),
        level_told=len(levels),
    )


def _looked_for(knee: KneeConclusion, truth: Truth) -> Iterator[tuple[LesionProbability, Seen]]:
    for entry in knee.any_level():
        if entry.lesion in truth.seen:
            yield entry, truth.seen[entry.lesion]


def _level_right(knee: KneeConclusion, entry: LesionProbability, seen: Seen) -> bool | None:
    levels = [each for each in knee.lesions if each.lesion == entry.lesion and each.level != ANY_LEVEL]
    if seen.found in (ABSENT, PRESENT) or len(levels) == 1 or entry.probability < LIKELIER_THAN_NOT:
        return None
    return max(levels, key=lambda each: each.probability).level == seen.found


def _gain(by_knee: Sequence[Sequence[Statement]]) -> Interval | None:
    """Return the mean over knees of how much examining lowered the squared error, by Student's t."""
    if len(by_knee) < ENOUGH_TO_SPREAD:
        return None
    each = np.array(
        [
            np.mean([_error(one.before, one) - _error(one.probability, one) for one in knee])
            for knee in by_knee
        ]
    )
    reach = scipy.special.stdtrit(len(each) - 1, (1 + _LEVEL) / 2) * each.std(ddof=1) / sqrt(len(each))
    mean = float(each.mean())
    return Interval(estimate=mean, low=mean - float(reach), high=mean + float(reach), level=_LEVEL)


def _error(probability: float, statement: Statement) -> float:
    return (probability - statement.present) ** 2
