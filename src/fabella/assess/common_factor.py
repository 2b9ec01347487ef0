"""Omega: the share of a common factor in the sum over stations, by maximum likelihood.

Sources: McDonald 1999 (from memory); the likelihood of one factor is maximised over the unique variances, as
in Joreskog 1967 Psychometrika 32:443-482 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import nan

import numpy as np
import scipy
from numpy.typing import NDArray

from fabella.assess.marks import Numbers
from fabella.assess.rounding import ALIKE, vary

_LEAST_UNIQUE = 0.005  # of a variance of 1; a unique variance that ends there is a Heywood case
_MANY = 5  # candidates a station, below which a factor is not to be trusted; common practice


class OmegaFlag(StrEnum):
    """Why there is no omega, or why it should be mistrusted."""

    HEYWOOD = "heywood"
    FEW_CANDIDATES = "few_candidates"
    TOO_SMALL = "too_small"
    NOT_CONVERGED = "not_converged"


@dataclass(frozen=True, slots=True, kw_only=True)
class Omega:
    """Omega of one factor on standardised stations [-]; NaN with a flag that tells why.

    ``loadings`` and ``uniquenesses`` are those of the standardised stations, one a station.
    """

    omega: float
    loadings: tuple[float, ...]
    uniquenesses: tuple[float, ...]
    n: int
    flags: tuple[OmegaFlag, ...]


def omega(scores: Numbers) -> Omega:
    """Return omega of a table of scores, on stations brought to one spread.

    Parameters
    ----------
    scores
        Shape (candidates, stations), at least three stations that vary; a station that nobody has a score at
        is left out, and so are candidates with a gap.
    """
    used = scores[:, ~np.isnan(scores).all(axis=0)]
    x = used[~np.isnan(used).any(axis=1)]
    n, k = x.shape
    if k < 3 or n <= k or not vary(x, axis=0).all():
        return Omega(omega=nan, loadings=(), uniquenesses=(), n=n, flags=(OmegaFlag.TOO_SMALL,))
    r = np.asarray(np.corrcoef(x, rowvar=False), dtype=np.float64)
    if np.linalg.eigvalsh(r)[0] < ALIKE:  # one station is what others add up to: nothing of its own
        return Omega(omega=nan, loadings=(), uniquenesses=(), n=n, flags=(OmegaFlag.HEYWOOD,))
    start = 0.5 / np.diag(np.linalg.inv(r))  # half of what the others do not tell
    unique, _, report = scipy.optimize.fmin_l_bfgs_b(
        _discrepancy,
        start.clip(_LEAST_UNIQUE, 1.0),
        args=(r,),
        bounds=[(_LEAST_UNIQUE, 1.0)] * k,
        factr=1.0,
        pgtol=1e-8,
    )
    loadings = _loadings(unique, r)
    common = float(loadings.sum()) ** 2
    flags = {
        OmegaFlag.HEYWOOD: bool((unique <= _LEAST_UNIQUE * 1.001).any()),
        OmegaFlag.NOT_CONVERGED: bool(report["warnflag"] == 1),
        OmegaFlag.FEW_CANDIDATES: n < _MANY * k,
    }
    none = flags[OmegaFlag.HEYWOOD] or flags[OmegaFlag.NOT_CONVERGED]
    return Omega(
        omega=nan if none else common / (common + float(unique.sum())),
        loadings=tuple(map(float, loadings)),
        uniquenesses=tuple(map(float, unique)),
        n=n,
        flags=tuple(flag for flag, holds in flags.items() if holds),
    )


def _discrepancy(unique: NDArray[np.float64], r: Numbers) -> tuple[float, Numbers]:
    """Return minus twice the log-likelihood, loadings profiled out, up to a constant, and its slope."""
    root = np.sqrt(unique)
    values, vectors = np.linalg.eigh(r / np.outer(root, root))
    rest = values[:-1]
    value = -float((np.log(rest) - rest).sum()) - len(rest)
    loadings = vectors[:, -1] * root * np.sqrt(max(values[-1] - 1, 0.0))
    gap = np.outer(loadings, loadings) + np.diag(unique) - r
    return value, np.asarray(np.diag(gap) / unique**2)


def _loadings(unique: NDArray[np.float64], r: Numbers) -> Numbers:
    root = np.sqrt(unique)
    values, vectors = np.linalg.eigh(r / np.outer(root, root))
    loadings = vectors[:, -1] * root * np.sqrt(max(values[-1] - 1, 0.0))
    return np.asarray(loadings if loadings.sum() >= 0 else -loadings)
