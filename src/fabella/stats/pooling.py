"""Bivariate random-effects meta-analysis of sensitivity and specificity from study counts.

The model: (logit sensitivity, logit specificity) of study i, observed as y_i with known within-study
variances S_i (diagonal: the two are counted in different people), is N(mu, S_i + Sigma). Sigma is what
studies differ by. Given Sigma, mu follows by generalised least squares; Sigma = L L' is found by
maximising the (restricted) likelihood over the three free entries of the triangle L. No entry is bounded, so
a correlation of -1 or 1, or no variation at all, is reached smoothly and not by running away.

Reference: Reitsma, Glas, Rutjes, Scholten, Bossuyt and Zwinderman 2005 J Clin Epidemiol 58:982-990,
doi 10.1016/j.jclinepi.2005.02.022. Within-study errors are taken as normal, as there; with few false
negatives this pulls a high sensitivity down (Chu and Cole 2006 J Clin Epidemiol 59:1331, from memory).
"""

from collections.abc import Sequence
from itertools import product
from math import log, pi, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fabella.stats.deferred import scipy
from fabella.stats.intervals import check, level_claim
from fabella.stats.likelihood import TwoByTwo
from fabella.stats.pooled import NO_VARIANCE, Matrix, Pooled

Array = NDArray[np.float64]

_SHARES, _CORRELATIONS = (0.05, 0.3, 1.0, 2.0), (-0.9, 0.0, 0.9)  # where searches begin
_FEW = 3  # below this number of studies, variation between them cannot be told from chance
_TOO_FEW_FOR_A_NEW_PLACE = 10  # below it the region of a new place is told to be too narrow
_FLAT = 1e-4  # largest slope of the deviance still called an optimum
_AT_BOUND = 1e-4  # a correlation this close to 1 is at its bound


def pool(
    studies: Sequence[TwoByTwo],
    *,
    method: Literal["REML", "ML"] = "REML",
    correction: Literal["zero cells", "all"] = "zero cells",
    level: float = 0.95,
) -> Pooled:
    """Return the summary accuracy of several studies and how much they differ.

    Parameters
    ----------
    studies
        Counts; at least one study, each with diseased and healthy people. Their order does not matter.
    method
        "REML", or "ML", which takes the between-study variances as too small when studies are few.
    correction
        0.5 is added to all four cells of each study with an empty cell ("zero cells"), or of every study
        ("all").
    level
        Confidence of the summary intervals [-].

    Returns
    -------
    Pooled
        Whose `warnings` say when studies are few or the between-study correlation is at its bound. One study
        says nothing about variation between studies: it is then taken as zero, with a warning.

    Raises
    ------
    InputError
        When there is no study, a study has no diseased or no healthy people, or the level is out of range.
    """
    _check(studies, method, correction, level)
    reml = method == "REML"
    y, within, n_corrected = _logits(studies, everywhere=correction == "all")
    triangle, slope = _fit(y, within, reml=reml) if len(y) > 1 else (np.zeros(3), 0.0)
    deviance, _, mean, error = _deviance(triangle, y, within, reml=reml)
    constant = log(len(y)) - (len(y) - 1) * log(2 * pi) if reml else -len(y) * log(2 * pi)
    between = _triangle(triangle) @ _triangle(triangle).T
    return Pooled(
        method=method,
        level=level,
        n_studies=len(y),
        n_corrected=n_corrected,
        mean_logit=(float(mean[0]), float(mean[1])),
        mean_covariance=_pairs(error),
        between_covariance=_pairs(between),
        log_likelihood=constant - deviance / 2,
        converged=slope < _FLAT,
        warnings=_warnings(len(y), between, converged=slope < _FLAT),
    )


def _check(studies: Sequence[TwoByTwo], method: str, correction: str, level: float) -> None:
    claims: list[tuple[bool, str, object, str]] = [
        (len(studies) > 0, "studies", len(studies), "use at least one study"),
        (method in {"REML", "ML"}, "method", method, "use REML or ML"),
        (correction in {"zero cells", "all"}, "correction", correction, "use 'zero cells' or 'all'"),
        level_claim(level),
    ]
    for number, study in enumerate(studies, start=1):
        place = study.study or f"study {number}"
        diseased, healthy = study.tp + study.fn, study.fp + study.tn
        claims.append((diseased > 0, f"{place}: tp + fn", diseased, "at least one diseased person is needed"))
        claims.append((healthy > 0, f"{place}: fp + tn", healthy, "at least one healthy person is needed"))
    check(*claims)


def _logits(studies: Sequence[TwoByTwo], *, everywhere: bool) -> tuple[Array, Array, int]:
    """Return observed logits and their variances, both (n, 2), sorted to forget the order given."""
    cells = np.array(sorted((s.tp, s.tn, s.fn, s.fp) for s in studies), dtype=np.float64)
    corrected = (cells == 0).any(axis=1) | everywhere
    cells[corrected] += 0.5
    right, wrong = cells[:, :2], cells[:, 2:]
    return np.log(right / wrong), 1 / right + 1 / wrong, int(corrected.sum())


def _deviance(triangle: Array, y: Array, within: Array, *, reml: bool) -> tuple[float, Array, Array, Array]:
    """Return -2 log likelihood (without its constant), its gradient in L, the mean and the mean's covariance.

    With W_i = (S_i + Sigma)^-1, A = sum W_i and r_i = y_i - mu, the deviance is
    sum ln|S_i + Sigma| + sum r_i' W_i r_i (+ ln|A| under REML); its derivative in Sigma is
    G = sum W_i - sum W_i r_i r_i' W_i (- sum W_i A^-1 W_i), and in L it is 2 G L.
    """
    root = _triangle(triangle)
    total = root @ root.T + within[:, :, None] * np.eye(2)
    weight = np.linalg.inv(total)
    information = weight.sum(axis=0)
    error = np.linalg.inv(information)
    mean = error @ np.einsum("nij,nj->i", weight, y)
    residual = y - mean
    pull = np.einsum("nij,nj->ni", weight, residual)
    deviance = np.log(np.linalg.det(total)).sum() + (residual * pull).sum()
    slope = information - pull.T @ pull
    if reml:
        deviance += np.log(np.linalg.det(information))
        slope -= (weight @ error @ weight).sum(axis=0)
    return float(deviance), (2 * slope @ root)[[0, 1, 1], [0, 0, 1]], mean, error


def _fit(y: Array, within: Array, *, reml: bool) -> tuple[Array, float]:
    """Return the best triangle, and the steepest slope left there.

    The likelihood can have several peaks, so a search starts from the best point of a coarse grid for each
    size of either variance; the best of these rough searches is carried to the end.
    """

    def deviance(triangle: Array) -> tuple[float, Array]:
        value, slope, _, _ = _deviance(triangle, y, within, reml=reml)
        return value, slope

    def search(start: Array, slope: float) -> scipy.optimize.OptimizeResult:
        return scipy.optimize.minimize(deviance, start, jac=True, method="BFGS", options={"gtol": slope})

    spread = np.sqrt(np.maximum(y.var(axis=0, ddof=1) - within.mean(axis=0), 0.05))
    grid = {
        (first, second, rho): spread[[0, 1, 1]] * [first, rho * second, sqrt(1 - rho * rho) * second]
        for first, second, rho in product(_SHARES, _SHARES, _CORRELATIONS)
    }
    depth = {place: deviance(triangle)[0] for place, triangle in grid.items()}
    starts = {
        min((place for place in grid if place[side] == share), key=lambda place: depth[place])
        for side in (0, 1)
        for share in _SHARES
    }
    rough = min((search(grid[place], 1e-2) for place in sorted(starts)), key=lambda fit: float(fit.fun))
    best = search(rough.x, 1e-8)
    return np.asarray(best.x, dtype=np.float64), float(np.abs(best.jac).max())


def _warnings(n_studies: int, between: Array, *, converged: bool) -> tuple[str, ...]:
    found = []
    if n_studies == 1:
        found.append(
            "1 study only: nothing is known of how accuracy varies between places; taken as not at all"
        )
    elif n_studies < _FEW:
        found.append(f"{n_studies} studies only: how much accuracy varies between places is hardly known")
    elif n_studies < _TOO_FEW_FOR_A_NEW_PLACE:
        found.append(
            f"{n_studies} studies only: the intervals and the region of the summary allow for that, that of "
            "a new clinic not wholly: one that claims 90% held it in 76 to 85% of simulated reviews"
        )
    if not converged:
        found.append("the fit did not converge: do not use these numbers")
    if n_studies > 1:
        varies = between.diagonal() > NO_VARIANCE
        for name, does in zip(("sensitivity", "specificity"), varies, strict=True):
            if not does:
                found.append(
                    f"no variation in {name} between studies beyond chance: its estimate is at its bound 0"
                )
        if varies.all():
            correlation = between[0, 1] / np.sqrt(between[0, 0] * between[1, 1])
            if abs(correlation) > 1 - _AT_BOUND:
                found.append(
                    f"the correlation between studies is at its bound {np.sign(correlation):+.0f}: "
                    "they are too few or too alike to estimate it"
                )
    return tuple(found)


def _triangle(entries: Array) -> Array:
    return np.array([[entries[0], 0.0], [entries[1], entries[2]]])


def _pairs(matrix: Array) -> Matrix:
    (a, b), (c, d) = matrix.tolist()
    return (a, b), (c, d)
