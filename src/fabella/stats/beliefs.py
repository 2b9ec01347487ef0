"""Distributions for an accuracy or a prevalence, matched to what was published about it."""

from dataclasses import dataclass
from math import log, sqrt
from typing import Literal

import numpy as np
import scipy
from numpy.typing import NDArray

from fabella.stats.intervals import Interval, check, level_claim, normal_quantile

ASSUMED_N = 20
"""People assumed behind a bare point estimate: a deliberately small study (judgement, no source)."""

Basis = Literal["interval", "one limit", "n", "n from limit", "assumed n"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogitNormal:
    """A share whose logit is normally distributed.

    Parameters
    ----------
    mu, sigma
        Mean and standard deviation on the logit scale.
    basis
        What sigma rests on: a published interval, one usable limit, the number of people, the number of
        people implied by an exact limit, or an assumed number.
    """

    mu: float
    sigma: float
    basis: Basis

    def quantile(self, share: float) -> float:
        """Return the value [-] below which this share of the distribution lies."""
        return float(scipy.special.expit(self.mu + self.sigma * scipy.stats.norm.ppf(share)))

    def interval(self, level: float = 0.95) -> Interval:
        """Return the median with the central interval of this level."""
        tail = (1 - level) / 2
        return Interval(
            estimate=self.quantile(0.5), low=self.quantile(tail), high=self.quantile(1 - tail), level=level
        )

    def draw(self, n: int, rng: np.random.Generator) -> NDArray[np.float64]:
        """Return n draws, shape (n,), between 0 and 1."""
        return np.asarray(scipy.special.expit(rng.normal(self.mu, self.sigma, n)), dtype=np.float64)


def logit_normal(
    *,
    estimate: float,
    low: float | None = None,
    high: float | None = None,
    level: float = 0.95,
    n: int | None = None,
) -> LogitNormal:
    """Return the logit-normal distribution that fits what was published about a share.

    The rule, in this order:

    1. Both limits strictly inside 0 and 1: mu = logit(estimate), sigma = (logit(high) - logit(low)) / 2z.
    2. One usable limit (the other missing, or printed as 0 or 1): sigma from the distance to that limit.
    3. n known, no usable limit: x = n * estimate, mu = ln((x+1/2)/(n-x+1/2)),
       sigma^2 = 1/(x+1/2) + 1/(n-x+1/2).
    4. Nothing but the estimate: as 3 with n = `ASSUMED_N`.

    An estimate of 0 or 1 has no logit, so 3 and 4 apply to it whatever the limits. If n is unknown but a
    limit is not, n is the one for which that limit is exact (Clopper-Pearson): for an estimate of 1,
    low^n = (1 - level) / 2.

    Parameters
    ----------
    estimate
        The published share [-], 0 to 1, taken as the median.
    low, high
        Published limits [-], 0 to 1, around the estimate; None when not published.
    level
        Confidence of the limits [-].
    n
        Number of people the share was counted in (for a sensitivity, the diseased); None when not known.

    Raises
    ------
    InputError
        When a value is out of range or the limits do not enclose the estimate.

    References
    ----------
    The 1/2 and the variance: Haldane 1956 and Anscombe 1956 (from memory); the same as in `pool`.
    """
    check(
        (0 <= estimate <= 1, "estimate", estimate, "use a share from 0 to 1"),
        (low is None or 0 <= low <= estimate, "low", low, "use a share from 0 to the estimate"),
        (high is None or estimate <= high <= 1, "high", high, "use a share from the estimate to 1"),
        (low is None or low != high, "low", low, "limits that coincide tell nothing: leave both out"),
        (n is None or n > 0, "n", n, "use a whole number of at least 1"),
        level_claim(level),
    )
    limits = [x for x in (low, high) if x is not None and 0 < x < 1]
    if 0 < estimate < 1 and (usable := [x for x in limits if x != estimate]):
        reach = sum(abs(float(scipy.special.logit(x) - scipy.special.logit(estimate))) for x in usable) / len(
            usable
        )
        basis: Basis = "interval" if len(usable) > 1 else "one limit"
        return LogitNormal(
            mu=float(scipy.special.logit(estimate)), sigma=reach / normal_quantile(level), basis=basis
        )
    if n is not None:
        return _from_count(estimate, n, "n")
    if limits and estimate in (0, 1):
        limit = min(limits) if estimate else 1 - max(limits)
        return _from_count(estimate, log((1 - level) / 2) / log(limit), "n from limit")
    return _from_count(estimate, ASSUMED_N, "assumed n")


@dataclass(frozen=True, slots=True, kw_only=True)
class Beta:
    """A share with a beta distribution: a counts as successes, b as failures."""

    a: float
    b: float

    def interval(self, level: float = 0.95) -> Interval:
        """Return the mean with the central interval of this level."""
        low, high = (float(x) for x in scipy.stats.beta.interval(level, self.a, self.b))
        return Interval(estimate=self.a / (self.a + self.b), low=low, high=high, level=level)

    def draw(self, n: int, rng: np.random.Generator) -> NDArray[np.float64]:
        """Return n draws, shape (n,), between 0 and 1."""
        return rng.beta(self.a, self.b, n)


def beta_from_count(*, successes: float, n: float) -> Beta:
    """Return Beta(x + 1/2, n - x + 1/2), what counts alone say about a share (Jeffreys' prior).

    Parameters
    ----------
    successes, n
        Counts [-]; 0 to n, and n above 0.

    Raises
    ------
    InputError
        When a count is out of range.
    """
    check(
        (n > 0, "n", n, "use a number above 0"),
        (0 <= successes <= n, "successes", successes, f"use 0 to {n}"),
    )
    return Beta(a=successes + 0.5, b=n - successes + 0.5)


def beta_from_interval(*, estimate: float, low: float, high: float, level: float = 0.95) -> Beta:
    """Return the beta distribution with this mean whose central interval is as wide as the published one.

    Parameters
    ----------
    estimate
        Published share [-], strictly between 0 and 1, taken as the mean.
    low, high
        Published limits [-], 0 to 1, around the estimate.
    level
        Confidence of the limits [-].

    Raises
    ------
    InputError
        When a value is out of range, or no beta distribution with one hump is that wide around that mean.
    """
    check(
        (
            0 < estimate < 1,
            "estimate",
            estimate,
            "use a share between 0 and 1; for 0 or 1 use beta_from_count",
        ),
        (0 <= low <= estimate, "low", low, "use a share from 0 to the estimate"),
        (estimate <= high <= 1, "high", high, "use a share from the estimate to 1"),
        (low < high, "low", low, "limits that coincide have no distribution"),
        level_claim(level),
    )

    def excess(log_total: float) -> float:
        total = np.exp(log_total)
        fitted = Beta(a=estimate * total, b=(1 - estimate) * total).interval(level)
        return fitted.high - fitted.low - (high - low)

    flattest, sharpest = -log(min(estimate, 1 - estimate)), log(1e12)  # flattest: the smaller parameter is 1
    check((excess(flattest) >= 0, "high - low", high - low, "so wide an interval needs logit_normal"))
    total = float(np.exp(scipy.optimize.brentq(excess, flattest, sharpest, xtol=1e-12)))
    return Beta(a=estimate * total, b=(1 - estimate) * total)


def _from_count(estimate: float, n: float, basis: Basis) -> LogitNormal:
    successes, failures = n * estimate + 0.5, n * (1 - estimate) + 0.5
    sigma = sqrt(1 / successes + 1 / failures)
    return LogitNormal(mu=log(successes / failures), sigma=sigma, basis=basis)
