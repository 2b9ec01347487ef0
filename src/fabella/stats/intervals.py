"""Intervals for a proportion, and the noun every estimate in this room is handed over in."""

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

from fabella.errors import InputError, Problem
from fabella.stats.deferred import scipy


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """An estimate with the interval around it.

    Parameters
    ----------
    estimate
        The value itself, in the unit of what was estimated.
    low, high
        The two limits, same unit.
    level
        Confidence the limits were made for [-], between 0 and 1.
    """

    estimate: float
    low: float
    high: float
    level: float


def wilson(*, successes: int, n: int, level: float = 0.95) -> Interval:
    """Return the score interval of Wilson for a proportion: close to its level even when n is small.

    Parameters
    ----------
    successes
        Count of successes [-], 0 to n.
    n
        Count of trials [-], at least 1.
    level
        Confidence [-], between 0 and 1.

    Raises
    ------
    InputError
        When a count or the level is out of range.

    References
    ----------
    Wilson 1927 J Am Stat Assoc 22:209-212. Recommended by Newcombe 1998 Stat Med 17:857-872 (from memory).
    """
    _check_counts(successes, n, level)
    share, z = successes / n, normal_quantile(level)
    centre = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    low = centre - half if successes else 0.0
    high = centre + half if successes < n else 1.0
    return Interval(estimate=share, low=low, high=high, level=level)


def clopper_pearson(*, successes: int, n: int, level: float = 0.95) -> Interval:
    """Return the exact interval for a proportion: never below its level, hence wide when n is small.

    Parameters and errors as in `wilson`.

    References
    ----------
    Clopper and Pearson 1934 Biometrika 26:404-413 (from memory).
    """
    _check_counts(successes, n, level)
    tail = (1 - level) / 2
    low = float(scipy.stats.beta.ppf(tail, successes, n - successes + 1)) if successes else 0.0
    high = float(scipy.stats.beta.isf(tail, successes + 1, n - successes)) if successes < n else 1.0
    return Interval(estimate=successes / n, low=low, high=high, level=level)


def normal_quantile(level: float) -> float:
    """Return how many standard errors reach from the centre to a limit: 1.96 for a level of 0.95."""
    return -NormalDist().inv_cdf((1 - level) / 2)


def check(*claims: tuple[bool, str, object, str]) -> None:
    """Raise one `InputError` that lists every claim (holds, place, value, remedy) that does not hold."""
    if wrong := [
        Problem(place=place, value=str(value), says="is out of range", remedy=remedy)
        for holds, place, value, remedy in claims
        if not holds
    ]:
        raise InputError(wrong)


def level_claim(level: float) -> tuple[bool, str, object, str]:
    """Return the claim that a confidence level lies strictly between 0 and 1."""
    return 0 < level < 1, "level", level, "use a share between 0 and 1, such as 0.95"


def _check_counts(successes: int, n: int, level: float) -> None:
    check(
        (n >= 1, "n", n, "use a whole number of at least 1"),
        (0 <= successes <= max(n, 0), "successes", successes, f"use a whole number from 0 to {n}"),
        level_claim(level),
    )
