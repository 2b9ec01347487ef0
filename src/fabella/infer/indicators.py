"""From manifestations to signs: how surely a sign shows what is there, and how often it shows what is not.

A sign is a noisy-MAX child of its manifestations and of the latent guarding g:

``P(Y >= 1 | m, g) = 1 - (1 - f) (1 - h u(m) (1 - w g))``

with false alarm f, hit h, guard loss w, and u(m) = 1 at or above the level from which the manifestation
shows, ``partial`` below it, 0 without it. Of what is seen the reported grade scatters about the true one; a
false alarm is mostly a slight one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.facts import Indicator

Floats = NDArray[np.float64]

GRADE_SLIP = 0.35
"""Chance ratio of a report one grade off against the right grade (judgement: between kappa 0.4 and 0.8)."""
FALSE_GRADE_SLIP = 0.1
"""Chance ratio of each further grade of a false alarm (judgement: mostly nothing is taken for a little)."""


@dataclass(frozen=True, slots=True, eq=False)
class Response:
    """The fitted numbers of one indicator: point values, or one value a draw (draws,)."""

    hit: Floats
    false_alarm: Floats


def reach(indicator: Indicator, group: Sequence[str], levels: Sequence[int]) -> Floats:
    """Return u (joint levels,): how far each joint level of the sign's manifestations can show, 0..1.

    ``group`` and ``levels``: the manifestations considered together, and the number of levels above nothing
    of each.
    """
    weights = dict(indicator.manifestations)
    values = []
    for joint in product(*(range(count + 1) for count in levels)):
        miss = 1.0
        for name, level in zip(group, joint, strict=True):
            miss *= 1 - weights.get(name, 0.0) * _shown(indicator, level)
        values.append(1 - miss)
    return np.array(values)


def _shown(indicator: Indicator, level: int) -> float:
    if level >= indicator.from_level:
        return 1.0
    return indicator.partial if level > 0 else 0.0


def outcome_table(
    indicator: Indicator,
    group: Sequence[str],
    levels: Sequence[int],
    grades: int,
    response: Response,
    *,
    guarded: bool,
) -> Floats:
    """Return P(Y = 0..grades | joint level), shape (joint levels, grades + 1).

    Drawn responses put (draws,) in front.
    """
    shown = reach(indicator, group, levels) * (1 - indicator.guard_loss * guarded)
    seen = response.hit[..., None] * shown
    unseen = 1 - seen
    falsely = response.false_alarm[..., None] * unseen
    graded = seen[..., None] * _grade_spread(indicator, group, levels, grades)
    graded += falsely[..., None] * _false_spread(grades)
    return np.concatenate([(unseen - falsely)[..., None], graded], axis=-1)


def _grade_spread(indicator: Indicator, group: Sequence[str], levels: Sequence[int], grades: int) -> Floats:
    """Return P(grade 1..grades | called, joint level).

    Centred on the true degree, it falls off as an error of measurement does: `GRADE_SLIP` one grade off.
    """
    reported = np.arange(1, grades + 1)
    own = {name for name, _ in indicator.manifestations}
    rows = []
    for joint in product(*(range(count + 1) for count in levels)):
        centre = max(
            _grade(level, count, indicator.from_level, grades)
            for name, level, count in zip(group, joint, levels, strict=True)
            if name in own
        )
        weight = GRADE_SLIP ** (reported - centre) ** 2
        rows.append(weight / weight.sum())
    return np.array(rows)


def _false_spread(grades: int) -> Floats:
    """Return P(grade 1..grades | a false alarm)."""
    weight = FALSE_GRADE_SLIP ** np.arange(grades)
    return np.asarray(weight / weight.sum())


def _grade(level: int, most: int, from_level: int, grades: int) -> float:
    """Return the grade at which a manifestation's level is best reported; the least one is 1."""
    if level < from_level:
        return 0.5
    if most == from_level:
        return (1 + grades) / 2
    return 1 + (level - from_level) * (grades - 1) / (most - from_level)
