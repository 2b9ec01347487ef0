"""Classical reliability of a table of candidates by stations: alpha with its interval, and SEM.

Sources: Cronbach 1951; interval: Feldt 1965 Psychometrika 30:357-370; parts that count
differently: Raju 1977 Psychometrika 42:549-565 (all from memory). Alpha of a complete table is ICC(3,k)
and the generalizability of a crossed design.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import nan, sqrt

import numpy as np
import scipy

from fabella.assess.marks import Numbers
from fabella.assess.rounding import ALIKE, vary
from fabella.stats import Interval

_LEVEL = 0.95
_TOLD = 2  # decimals of alpha, by which one is higher than another


@dataclass(frozen=True, slots=True, kw_only=True)
class Alpha:
    """Internal consistency over stations.

    Parameters
    ----------
    alpha
        Cronbach's, with Feldt's interval [-]; NaN with fewer than two stations or candidates, or where all
        have the same total. Where stations count differently, Raju's coefficient, without an interval.
    standardised
        Of stations brought to one spread [-].
    if_deleted
        Alpha of the other stations, one a station [-]; NaN when only one would be left.
    corrected_r
        Correlation of each station with the others as they count [-].
    raises
        Positions of stations without which alpha would be higher in its second decimal (ours): to be looked
        at, not dropped.
    sd, sem
        Of the mean over stations as they count, in the unit of the scores; the SEM is SD sqrt(1 - alpha), and
        the SD itself when alpha is below 0.
    n, n_left_out
        Candidates with a score at every station used, and candidates left out for want of one.
    stations
        Positions of the stations used: those that anybody has a score at.
    """

    alpha: Interval
    standardised: float
    if_deleted: tuple[float, ...]
    corrected_r: tuple[float, ...]
    raises: tuple[int, ...]
    sd: float
    sem: float
    n: int
    n_left_out: int
    stations: tuple[int, ...]


def alpha(scores: Numbers, *, weights: Numbers | None = None) -> Alpha:
    """Return the internal consistency of a table of scores, with the 95 % interval.

    Parameters
    ----------
    scores
        Shape (candidates, stations); NaN where missing. A candidate with a gap is left out and counted.
    weights
        What each station counts, above 0, shape (stations,); None where all count alike.
    """
    used = np.flatnonzero(~np.isnan(scores).all(axis=0))
    complete = ~np.isnan(scores[:, used]).any(axis=1)
    x = scores[complete][:, used]
    n, k = x.shape
    left_out = len(scores) - n
    stations = tuple(map(int, used))
    if n < 2 or k < 2:
        none = Interval(estimate=nan, low=nan, high=nan, level=_LEVEL)
        gaps = (nan,) * k
        return Alpha(
            alpha=none,
            standardised=nan,
            if_deleted=gaps,
            corrected_r=gaps,
            raises=(),
            sd=nan,
            sem=nan,
            n=n,
            n_left_out=left_out,
            stations=stations,
        )
    spreads = vary(x, axis=0)
    covariance = np.cov(np.where(spreads, x - x[0], 0.0), rowvar=False)
    worth = np.ones(k) if weights is None else weights[used]
    share = worth / worth.sum()
    value = _alpha(covariance, share)
    without = tuple(
        _alpha(np.delete(np.delete(covariance, s, axis=0), s, axis=1), np.delete(share, s)) if k > 2 else nan
        for s in range(k)
    )
    sd = sqrt(max(float(share @ covariance @ share), 0.0))  # rounding may put a sum of 0 below it
    interval = Interval(estimate=value, low=nan, high=nan, level=_LEVEL)
    return Alpha(
        alpha=_feldt(value, n, k) if np.ptp(share) <= ALIKE else interval,
        standardised=_standardised(covariance),
        if_deleted=without,
        corrected_r=_corrected(covariance, share),
        raises=tuple(stations[s] for s in range(k) if round(without[s], _TOLD) > round(value, _TOLD)),
        sd=sd,
        sem=sd * sqrt(1 - min(max(value, 0.0), 1.0)),
        n=n,
        n_left_out=left_out,
        stations=stations,
    )


def _alpha(covariance: Numbers, share: Numbers) -> float:
    """Return Raju's coefficient, which is Cronbach's alpha where all shares are alike."""
    share = share / share.sum()
    total, own = float(share @ covariance @ share), float(share**2 @ np.diag(covariance))
    return (1 - own / total) / (1 - float(share @ share)) if total > ALIKE * own else nan


def _feldt(value: float, n: int, k: int) -> Interval:
    tail, df = (1 - _LEVEL) / 2, (n - 1, (n - 1) * (k - 1))
    low = 1 - (1 - value) * float(scipy.special.fdtri(*df, 1 - tail))
    high = 1 - (1 - value) * float(scipy.special.fdtri(*df, tail))
    return Interval(estimate=value, low=low, high=high, level=_LEVEL)


def _standardised(covariance: Numbers) -> float:
    spread = np.sqrt(np.diag(covariance))
    if (spread == 0).any():
        return nan
    k = len(covariance)
    mean_r = float((covariance / np.outer(spread, spread)).sum() - k) / (k * (k - 1))
    below = 1 + (k - 1) * mean_r
    return k * mean_r / below if below > 1e-12 else nan


def _corrected(covariance: Numbers, share: Numbers) -> tuple[float, ...]:
    own, with_all = np.diag(covariance), covariance @ share
    with_rest = with_all - share * own
    rest = share @ with_all - 2 * share * with_all + share**2 * own
    with np.errstate(invalid="ignore", divide="ignore"):
        r = with_rest / np.sqrt(own * rest)
    return tuple(map(float, r))
