"""From a reading and its error to the probability of each true level, as the inference takes it."""

import math
from collections.abc import Sequence
from itertools import pairwise

from fabella.grade.thresholds import Start

Weights = tuple[float, ...]
"""One probability a level, from normal to worst, adding up to 1."""


def one_hot(level: int, *, levels: int) -> Weights:
    """Return certainty about one of ``levels`` levels, counted from 0."""
    return tuple(1.0 if each == level else 0.0 for each in range(levels))


def even(*, levels: int, first: int = 0) -> Weights:
    """Return equal weights on every level from ``first`` on; over all levels they say nothing at all."""
    share = 1 / (levels - first)
    return tuple(share if each >= first else 0.0 for each in range(levels))


def level_of(badness: float, starts: Sequence[Start]) -> int:
    """Return the highest level whose start is reached, 0 when none is."""
    return sum(start.reached_by(badness) for start in starts)


def level_weights(badness: float, starts: Sequence[Start], *, sd: float) -> Weights:
    """Return the probability of each true level given a reading with a normally distributed error.

    Parameters
    ----------
    badness
        The reading, counted so that more is worse.
    starts
        Where levels 1, 2, … begin, rising.
    sd
        Standard deviation of the error of the reading, same unit, 0 or more; 0 gives certainty.

    Notes
    -----
    P(level k) = F((start k+1 - reading) / sd) - F((start k - reading) / sd), F the normal distribution.
    No true value is favoured beforehand: how common the levels are is the business of the model of the knee.
    """
    if sd == 0:
        return one_hot(level_of(badness, starts), levels=len(starts) + 1)
    reached = [1.0, *(_normal((badness - start.at) / sd) for start in starts), 0.0]
    raw = [max(0.0, here - beyond) for here, beyond in pairwise(reached)]
    total = math.fsum(raw)
    return tuple(each / total for each in raw)


def worst_of(readings: Sequence[Weights]) -> Weights:
    """Return what several readings of one value amount to: each level is as likely as the worst says.

    Two equally stiff knees are both stiff, though neither is stiffer than the other. At least one is needed.
    """
    reached = [max(math.fsum(weights[level:]) for weights in readings) for level in range(len(readings[0]))]
    return tuple(max(0.0, here - beyond) for here, beyond in pairwise([*reached, 0.0]))


def _normal(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2))
