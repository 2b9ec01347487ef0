"""How many are classified rightly, and how many would be classified alike by a second, like exam.

Source: Livingston and Lewis 1995 J Educ Meas 32:179-197 (abstract seen, formulae from memory); beta-binomial
moments: Hanson 1991 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import ceil, nan, sqrt

import numpy as np
import scipy

from fabella.assess.marks import Numbers

_NODES = 400


class ClassificationModel(StrEnum):
    """What true scores were taken to be: beta with four parameters, with two, or normal."""

    BETA_4 = "beta_4"
    BETA_2 = "beta_2"
    NORMAL = "normal"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Beta4:
    """A beta distribution of true scores from `low` to `high` [share of the scale]."""

    low: float
    high: float
    alpha: float
    beta: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Classification:
    """Accuracy and consistency of passing and failing; all shares [-].

    ``accuracy`` is 1 - ``false_pass`` - ``false_fail``. ``kappa`` is consistency beyond chance.
    ``length`` is the effective length of the exam in binomial trials, before and after rounding; NaN and 0
    for the normal model. ``fell_back`` tells that four parameters did not fit.
    """

    accuracy: float
    false_pass: float
    false_fail: float
    consistency: float
    kappa: float
    model: ClassificationModel
    true_scores: Beta4 | None
    length: float
    rounded: int
    fell_back: bool


def livingston_lewis(
    score: Numbers,
    *,
    reliability: float,
    cut: float,
    parameters: int = 4,
) -> Classification:
    """Return accuracy and consistency by the method of Livingston and Lewis.

    True scores come from the moments of the scores on a test of the effective length; errors are those of a
    binomial of that length in whole trials, n, of which one passes who has at least ceil(n cut). Where a beta
    with four parameters does not fit (limits outside 0 and 1, or no positive shape) one with two, from 0 to
    1, is used, and said so.

    Parameters
    ----------
    score
        One entry a candidate [%], shape (n,), no gaps.
    reliability
        Of the score [-], between 0 and 1.
    cut
        Pass mark [%].
    parameters
        4, or 2 to begin with the simpler beta.
    """
    mean, variance = float(score.mean()), float(score.var(ddof=1))
    if not (0 < reliability < 1 and variance > 0):
        return _none()
    length = (mean * (100 - mean) - reliability * variance) / (variance * (1 - reliability))
    n = round(length)
    if n < 4:
        return normal_classification(mean=mean, sd=sqrt(variance), reliability=reliability, cut=cut)
    moments = _true_moments(length * score / 100, length)
    four = _four_parameters(moments) if parameters == 4 else None
    true = four or _two_parameters(moments)
    if true is None:
        return normal_classification(mean=mean, sd=sqrt(variance), reliability=reliability, cut=cut)
    found = _integrate(true, n, cut / 100)
    model = ClassificationModel.BETA_4 if four else ClassificationModel.BETA_2
    return Classification(
        **found,
        model=model,
        true_scores=true,
        length=length,
        rounded=n,
        fell_back=parameters == 4 and four is None,
    )


def normal_classification(*, mean: float, sd: float, reliability: float, cut: float) -> Classification:
    """Return accuracy and consistency with normal true scores and normal errors, for short circuits.

    Parameters
    ----------
    mean, sd, cut
        Of the observed scores, and the pass mark, all in the unit of the scores.
    reliability
        [-], between 0 and 1.
    """
    if not (0 < reliability < 1 and sd > 0):
        return _none()
    true_sd, sem = sd * sqrt(reliability), sd * sqrt(1 - reliability)
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    parts = []
    for low, high in ((-9.0, (cut - mean) / true_sd), ((cut - mean) / true_sd, 9.0)):
        z = np.clip((low + high) / 2 + (high - low) / 2 * nodes, -9, 9)
        chance = scipy.special.ndtr((mean + true_sd * z - cut) / sem)
        weight = weights * max(high - low, 0.0) / 2 * np.exp(-z * z / 2) / sqrt(2 * np.pi)
        parts.append((chance, weight))
    return Classification(
        **_sums(parts[0][0], parts[0][1], parts[1][0], parts[1][1]),
        model=ClassificationModel.NORMAL,
        true_scores=None,
        length=nan,
        rounded=0,
        fell_back=False,
    )


def _true_moments(scaled: Numbers, length: float) -> tuple[float, ...]:
    """Return the first four raw moments of the true share, from the factorial moments of the binomial."""
    moments, falling = [], np.ones_like(scaled)
    below = 1.0
    for order in range(4):
        falling = falling * (scaled - order)
        below *= length - order
        moments.append(float(falling.mean()) / below)
    return tuple(moments)


def _four_parameters(moments: tuple[float, ...]) -> Beta4 | None:
    m1, m2, m3, m4 = moments
    variance = m2 - m1**2
    if variance <= 0:
        return None
    skew = (m3 - 3 * m1 * m2 + 2 * m1**3) / variance**1.5
    kurtosis = (m4 - 4 * m1 * m3 + 6 * m1**2 * m2 - 3 * m1**4) / variance**2
    below = 6 + 3 * skew**2 - 2 * kurtosis
    if below == 0:
        return None
    r = 6 * (kurtosis - skew**2 - 1) / below
    inside = 1 + 16 * (r + 1) / ((r + 2) ** 2 * skew**2) if skew else np.inf
    if r <= 0 or inside <= 0:
        return None
    apart = 1 / sqrt(inside) if np.isfinite(inside) else 0.0
    small, large = r / 2 * (1 - apart), r / 2 * (1 + apart)
    a, b = (small, large) if skew > 0 else (large, small)
    if min(a, b) <= 0:
        return None
    wide = sqrt(variance * (a + b) ** 2 * (a + b + 1) / (a * b))
    low = m1 - wide * a / (a + b)
    fits = low >= 0 and low + wide <= 1
    return Beta4(low=low, high=low + wide, alpha=a, beta=b) if fits else None


def _two_parameters(moments: tuple[float, ...]) -> Beta4 | None:
    m1, variance = moments[0], moments[1] - moments[0] ** 2
    if variance <= 0 or m1 * (1 - m1) <= variance:
        return None
    strength = m1 * (1 - m1) / variance - 1
    return Beta4(low=0.0, high=1.0, alpha=m1 * strength, beta=(1 - m1) * strength)


def _integrate(true: Beta4, n: int, cut: float) -> dict[str, float]:
    needed = min(ceil(n * cut - 1e-9), n + 1)  # one more than there are where nobody can pass
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    middle = min(max((cut - true.low) / (true.high - true.low), 0.0), 1.0)
    split = float(scipy.special.betainc(true.alpha, true.beta, middle))
    parts = []
    for low, high in ((0.0, split), (split, 1.0)):  # equal steps of probability: no density at the ends
        u = (low + high) / 2 + (high - low) / 2 * nodes
        t = true.low + (true.high - true.low) * scipy.special.betaincinv(true.alpha, true.beta, u)
        chance = np.asarray(scipy.special.bdtrc(needed - 1, n, t), dtype=np.float64)
        parts.append((chance, weights * (high - low) / 2))
    (low_chance, of_low), (high_chance, of_high) = parts
    return _sums(low_chance, of_low, high_chance, of_high)


def _sums(low: Numbers, of_low: Numbers, high: Numbers, of_high: Numbers) -> dict[str, float]:
    """Return the shares from chances to pass below and above the cut, and the weights of their nodes."""
    false_pass, true_pass = float(of_low @ low), float(of_high @ high)
    false_fail = float(of_high @ (1 - high))
    passing = false_pass + true_pass
    consistency = float(of_low @ (low**2 + (1 - low) ** 2) + of_high @ (high**2 + (1 - high) ** 2))
    chance = passing**2 + (1 - passing) ** 2
    return {
        "accuracy": 1 - false_pass - false_fail,
        "false_pass": false_pass,
        "false_fail": false_fail,
        "consistency": consistency,
        "kappa": (consistency - chance) / (1 - chance) if chance < 1 else nan,
    }


def _none() -> Classification:
    return Classification(
        accuracy=nan,
        false_pass=nan,
        false_fail=nan,
        consistency=nan,
        kappa=nan,
        model=ClassificationModel.NONE,
        true_scores=None,
        length=nan,
        rounded=0,
        fell_back=False,
    )
