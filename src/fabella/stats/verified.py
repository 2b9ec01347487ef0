"""Sensitivity and specificity where only some knees were looked into, by Bayes on a grid.

Who is looked into is no fair sample: a positive test leads to the scan. Given the test's result, the knees
that nobody looked into are taken as like those that somebody did; their results then still count.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from fabella.stats.deferred import scipy
from fabella.stats.intervals import Interval, check

Floats = NDArray[np.float64]

FLAT = (0.0, pi / sqrt(3))
"""Mean and standard deviation of the logit of a share of which nothing is known: those of a uniform one."""
_POINTS = 41
_FURTHEST = 8.0  # logit: a share of 0.0003
_REACH = 5.0  # standard deviations that the next grid spans to either side
_PASSES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Verified:
    """Knees by a test's result and by what was seen later; the last two were not looked into."""

    positive_present: int = 0
    negative_present: int = 0
    positive_absent: int = 0
    negative_absent: int = 0
    positive_unknown: int = 0
    negative_unknown: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class VerifiedAccuracy:
    """Posterior means with equal-tailed intervals, shares 0..1; the prevalence is that in the knees given."""

    sensitivity: Interval
    specificity: Interval
    prevalence: Interval


def verified_accuracy(
    knees: Verified,
    *,
    sensitivity_logit: tuple[float, float] = FLAT,
    specificity_logit: tuple[float, float] = FLAT,
    level: float = 0.9,
) -> VerifiedAccuracy:
    """Return the accuracy of a test given knees that were partly looked into.

    Parameters
    ----------
    knees
        Counts [-], none negative.
    sensitivity_logit, specificity_logit
        Mean and standard deviation of the normal prior of each logit; that of the prevalence is `FLAT`.
    level
        Content of the intervals [-], between 0 and 1.

    Raises
    ------
    InputError
        When a count is negative or the level is out of range.

    References
    ----------
    The likelihood, and its assumption that being looked into depends on the result alone: Begg and Greenes
    1983 Biometrics 39:207-215 (from memory). With flat priors and many knees the means are theirs.
    """
    counts = {each.name: getattr(knees, each.name) for each in fields(Verified)}
    check(
        *((count >= 0, name, count, "use 0 or more") for name, count in counts.items()),
        (0 < level < 1, "level", level, "use a level between 0 and 1"),
    )
    priors = (sensitivity_logit, specificity_logit, FLAT)
    axes = [np.linspace(-_FURTHEST, _FURTHEST, _POINTS) for _ in priors]
    for _ in range(_PASSES):
        axes = [_where(axis, mass) for axis, mass in zip(axes, _masses(knees, priors, axes), strict=True)]
    masses = _masses(knees, priors, axes)
    sensitivity, specificity, prevalence = (
        _interval(axis, mass, level) for axis, mass in zip(axes, masses, strict=True)
    )
    return VerifiedAccuracy(sensitivity=sensitivity, specificity=specificity, prevalence=prevalence)


def _masses(
    knees: Verified, priors: tuple[tuple[float, float], ...], axes: list[Floats]
) -> tuple[Floats, Floats, Floats]:
    """Return the posterior mass on each axis: of sensitivity, specificity and prevalence."""
    hit, right, there = np.ix_(*(scipy.special.expit(axis) for axis in axes))
    miss, wrong, absent = np.ix_(*(scipy.special.expit(-axis) for axis in axes))
    log_p = sum(
        -0.5 * ((axis - mean) / sd) ** 2 for axis, (mean, sd) in zip(np.ix_(*axes), priors, strict=True)
    )
    positive = there * hit + absent * wrong
    negative = there * miss + absent * right
    for count, chance in (
        (knees.positive_present, there * hit),
        (knees.negative_present, there * miss),
        (knees.positive_absent, absent * wrong),
        (knees.negative_absent, absent * right),
        (knees.positive_unknown, positive),
        (knees.negative_unknown, negative),
    ):
        if count:
            log_p = log_p + count * np.log(chance)
    mass = np.exp(log_p - np.max(log_p))
    mass /= mass.sum()
    return mass.sum(axis=(1, 2)), mass.sum(axis=(0, 2)), mass.sum(axis=(0, 1))


def _where(axis: Floats, mass: Floats) -> Floats:
    """Return a grid over where the mass lies on the one given."""
    mean = float(axis @ mass)
    reach = _REACH * max(sqrt(float((axis - mean) ** 2 @ mass)), axis[1] - axis[0])
    return np.linspace(mean - reach, mean + reach, _POINTS)


def _interval(axis: Floats, mass: Floats, level: float) -> Interval:
    middle = (axis[1:] + axis[:-1]) / 2
    below = np.cumsum(mass)[:-1]
    low, high = np.interp([(1 - level) / 2, (1 + level) / 2], below, middle)
    low, high, *shares = scipy.special.expit([low, high, *axis]).tolist()
    return Interval(estimate=float(np.array(shares) @ mass), low=low, high=high, level=level)
