"""How far parallel circuits or sites differ at a station.

eta² = SS between circuits / SS total is above 0 even when circuits do not differ: by (n_c - 1)/(n - 1) on the
average, which is printed beside it. omega² = (SS_b - (n_c - 1) MS_w)/(SS_t + MS_w) takes that off. The
interval of the share explained in the population comes from the noncentral F.

Sources: Hays 1963 Statistics (omega²), Steiger 2004 Psychol Methods 9:164 (noncentral interval), Pell 2010
AMEE Guide 49 Med Teach 32:802 (variation between groups as a metric of stations); all from memory. Only if
candidates were allotted at random is a difference the examiners'.
"""

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import ArrayLike

from fabella.assess.gstudy_design import Array, Codes, check_lengths, coded
from fabella.assess.rounding import vary
from fabella.errors import InputError
from fabella.stats import Interval

_LEVEL = 0.9
_ALL = 1e8  # an F from which the circuits are the whole variance, to six digits
WARN_SHARE = 0.30  # of the variance between groups; Pell 2010, from memory


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitEffect:
    """Differences between circuits at one station.

    Parameters
    ----------
    station
        Its code.
    means
        Mean score of each circuit in ascending order of codes [mark]; NaN for a circuit without marks here.
    eta2, omega2
        Share of the variance that lies between circuits [-], raw and corrected; omega² may be below 0.
    no_effect
        eta² expected if circuits did not differ [-].
    f, df_between, df_within, p
        Test of equal means.
    population
        Share of the variance between circuits in the population [-] with its 90 % interval; the estimate is
        omega² or 0.
    """

    station: int
    means: tuple[float, ...]
    eta2: float
    omega2: float
    no_effect: float
    f: float
    df_between: int
    df_within: int
    p: float
    population: Interval

    @property
    def warns(self) -> bool:
        """Return whether omega² is above the share at which a station should be looked at."""
        return self.omega2 > WARN_SHARE


def circuit_effects(score: ArrayLike, *, station: ArrayLike, circuit: ArrayLike) -> tuple[CircuitEffect, ...]:
    """Return the differences between circuits at each station that two or more of them hold.

    A station is left out where all scores are the same, or each circuit has one.

    Parameters
    ----------
    score
        Station scores [mark], shape (n,).
    station, circuit
        Codes, shape (n,).

    Raises
    ------
    InputError
        When the data are unusable, there is one circuit only, or no station is left.
    """
    y = np.asarray(score, dtype=np.float64)
    stations, s = np.unique(np.asarray(station), return_inverse=True)
    c = coded(circuit)
    check_lengths(y, {"station": s.astype(np.intp), "circuit": c})
    if c.max() == 0:
        says, remedy = "cannot be compared", "there is one only"
        raise InputError.of(place="circuits", says=says, remedy=remedy)
    effects = tuple(
        _effect(int(code), y[s == k], c[s == k], int(c.max()) + 1)
        for k, code in enumerate(stations)
        if 1 < len(np.unique(c[s == k])) < (s == k).sum() and vary(y[s == k], among=y)
    )
    if not effects:
        says, remedy = "cannot be compared", "two circuits with several candidates who differ are needed"
        raise InputError.of(place="circuits", says=says, remedy=remedy)
    return effects


def _effect(station: int, y: Array, c: Codes, circuits: int) -> CircuitEffect:
    n = np.bincount(c, minlength=circuits)
    with np.errstate(invalid="ignore", divide="ignore"):
        means = np.bincount(c, weights=y, minlength=circuits) / n
    seen = n > 0
    total = float(((y - y.mean()) ** 2).sum())
    between = float((n[seen] * (means[seen] - y.mean()) ** 2).sum())
    df_between, df_within = int(seen.sum()) - 1, len(y) - int(seen.sum())
    rest = (total - between) / df_within
    f = between / df_between / rest if rest > 0 else np.inf
    omega = (between - df_between * rest) / (total + rest)
    low, high = (_share(f, df_between, df_within, tail) for tail in ((1 + _LEVEL) / 2, (1 - _LEVEL) / 2))
    return CircuitEffect(
        station=station,
        means=tuple(means.tolist()),
        eta2=between / total,
        omega2=float(omega),
        no_effect=df_between / (len(y) - 1),
        f=float(f),
        df_between=df_between,
        df_within=df_within,
        p=float(scipy.stats.f.sf(f, df_between, df_within)),
        population=Interval(estimate=max(float(omega), 0.0), low=low, high=high, level=_LEVEL),
    )


def _share(f: float, df_between: int, df_within: int, tail: float) -> float:
    """Return the share explained for which an F as small as this has the chance `tail`."""
    if f > _ALL:
        return 1.0
    n = df_between + df_within + 1

    def excess(noncentral: float) -> float:
        return float(scipy.stats.ncf.cdf(f, df_between, df_within, noncentral)) - tail

    if float(scipy.stats.f.cdf(f, df_between, df_within)) < tail:
        return 0.0
    top = max(4.0 * f * df_between, 10.0)
    while excess(top) > 0:
        top *= 2
    found = float(scipy.optimize.brentq(excess, 0.0, top))
    return found / (found + n)
