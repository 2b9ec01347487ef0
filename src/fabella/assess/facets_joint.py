"""Joint maximum likelihood of a many-facet Rasch model: candidates, facets and thresholds together.

All parameters take Newton steps at once. Candidates meet each other only through stations and examiners, so
their part of the information is diagonal and is eliminated; what is left is small.

Candidates with nothing or everything say nothing of examiners. They are left out and get their ability
afterwards (0.3 mark inside); or they are kept with totals moved 0.3 mark inside. Estimates are too far
apart, by about m/(m - 1) for m observations a candidate: `correction` draws facets and thresholds together by
(m - 1)/m (Wright and Douglas 1977 Appl Psychol Meas 1:281, for items; from memory). It is an approximation;
marginal likelihood has no such bias.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fabella.assess.facets_ability import EXTREME_SHIFT, abilities, locations
from fabella.assess.facets_ratings import Ratings, cumulated, log_probabilities, moments
from fabella.assess.gstudy_design import Array, Codes
from fabella.errors import InputError, Problem

Extremes = Literal["left out", "kept"]
_MOST_STEPS = 100
_CLOSE = 1e-5  # logit; Newton: the next step would be of the order of its square


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointFit:
    """What joint likelihood gives.

    Parameters
    ----------
    ability, ability_se
        Of each candidate [logit].
    effects, effects_se
        Of all facets, one after another [logit]; errors from the whole information.
    thresholds
        Of each scale [logit], shape (scales, thresholds).
    extreme
        Candidates with nothing or everything, shape (candidates,).
    deviance
        -2 log likelihood of the observations used [-].
    shrunk
        Factor by which facets and thresholds were drawn together [-]; 1 without correction.
    """

    ability: Array
    ability_se: Array
    effects: Array
    effects_se: Array
    thresholds: Array
    extreme: Codes
    deviance: float
    shrunk: float


def joint_fit(
    data: Ratings, columns: Array, *, extremes: Extremes = "left out", correction: bool
) -> JointFit:
    """Return the joint maximum-likelihood fit.

    Parameters
    ----------
    data
        The observations.
    columns
        Contrasts that the effects and thresholds may take, from `contrasts`.
    extremes
        What becomes of candidates with nothing or everything while the rest is estimated.
    correction
        Whether to draw facets and thresholds together by (m - 1)/m.

    Raises
    ------
    InputError
        When a level of a facet has nothing or everything, so that it has no finite estimate, or a category
        was given to extreme candidates only.
    """
    total, most = data.totals
    extreme = data.is_extreme
    kept = (
        np.flatnonzero(~extreme[data.candidate]) if extremes == "left out" else np.arange(len(data.category))
    )
    used = data.of(kept)
    _check(data, used)
    target: Array = np.clip(total, EXTREME_SHIFT, most - EXTREME_SHIFT)
    active = np.bincount(used.candidate, minlength=len(total)) > 0
    theta, dense = np.zeros(len(total)), np.zeros(len(columns))
    for _ in range(_MOST_STEPS):
        step_theta, step, _ = _newton(used, columns, theta=theta, dense=dense, target=target, active=active)
        largest = max(np.abs(step_theta).max(), np.abs(step).max())
        pace = min(1.0, 1.0 / largest) if largest > 0 else 1.0
        theta, dense = theta + pace * step_theta, dense + pace * step
        if largest < _CLOSE:
            break
    else:
        says, remedy = "did not converge", "use the marginal likelihood"
        raise InputError([Problem(place="joint likelihood", value="", says=says, remedy=remedy)])
    _, _, covariance = _newton(used, columns, theta=theta, dense=dense, target=target, active=active)
    errors = np.sqrt(np.einsum("ij,jk,ik->i", columns, covariance, columns))
    start, width = data.offsets[-1], data.marks.shape[1] - 1
    per_candidate = len(used.category) / active.sum()
    shrunk = (per_candidate - 1) / per_candidate if correction else 1.0
    effects, thresholds = dense[:start] * shrunk, dense[start:].reshape(-1, width) * shrunk
    ability, ability_se = abilities(data, effects, thresholds, kind="ML", start=theta)
    fitted = _log(used, theta, dense)
    return JointFit(
        ability=ability,
        ability_se=ability_se,
        effects=effects,
        effects_se=errors[:start] * shrunk,
        thresholds=thresholds,
        extreme=np.flatnonzero(extreme),
        deviance=float(-2 * fitted[used.category, np.arange(len(used.category))].sum()),
        shrunk=shrunk,
    )


def _log(data: Ratings, theta: Array, dense: Array) -> Array:
    start, width = data.offsets[-1], data.marks.shape[1] - 1
    sums = cumulated(dense[start:].reshape(-1, width), data.tops)
    return log_probabilities(locations(data, theta, dense[:start]), sums.T[:, data.scale])


def _newton(
    data: Ratings, columns: Array, *, theta: Array, dense: Array, target: Array, active: NDArray[np.bool_]
) -> tuple[Array, Array, Array]:
    """Return the steps of candidates and of all else, and the covariance of the contrasts."""
    found = moments(np.exp(_log(data, theta, dense)))
    n = len(theta)
    own = np.where(active, np.bincount(data.candidate, weights=found.variance, minlength=n), 1.0)
    slope = np.where(active, target - np.bincount(data.candidate, weights=found.mean, minlength=n), 0.0)
    joined = meet(data, found.variance, found.pull, data.candidate, n) @ columns
    steps = np.arange(len(found.reach))
    both = found.reach[np.maximum.outer(steps, steps)] - found.reach[:, None] * found.reach
    rest = columns.T @ information(data, found.variance, found.pull, both) @ columns
    left = data.category - found.mean
    passed = (data.category >= np.arange(1, len(found.reach) + 1)[:, None]) - found.reach
    away = columns.T @ gather(data, left, passed)
    rest -= joined.T @ (joined / own[:, None])
    covariance = np.asarray(np.linalg.inv(rest), dtype=np.float64)
    change = covariance @ (away - joined.T @ (slope / own))
    return (slope - joined @ change) / own, columns @ change, covariance


def gather(data: Ratings, left: Array, passed: Array) -> Array:
    """Return the slope of the log likelihood in every effect and threshold from the residuals."""
    parts = [
        -np.bincount(code, weights=left, minlength=n) for code, n in zip(data.codes, data.levels, strict=True)
    ]
    scales = len(data.marks)
    steps = [np.bincount(data.scale, weights=row, minlength=scales) for row in passed]
    return np.concatenate([*parts, -np.stack(steps, axis=1).ravel()])


def meet(data: Ratings, variance: Array, pull: Array, row: Codes, rows: int) -> Array:
    """Return the information that rows share with effects and then thresholds, a row each."""
    parts = []
    for code, n in zip(data.codes, data.levels, strict=True):
        parts.append(-np.bincount(row * n + code, weights=variance, minlength=rows * n).reshape(rows, n))
    scales = len(data.marks)
    key = row * scales + data.scale
    steps = [np.bincount(key, weights=each, minlength=rows * scales) for each in pull]
    parts.append(-np.stack(steps, axis=1).reshape(rows, -1))
    return np.concatenate(parts, axis=1)


def information(data: Ratings, variance: Array, pull: Array, both: Array) -> Array:
    """Return the information of effects and thresholds among themselves.

    Parameters
    ----------
    data
        The observations.
    variance, pull, both
        Variance of the category, its covariance with each threshold's being passed, and the covariances of
        these with each other; shapes (n,), (thresholds, n) and (thresholds, thresholds, n).
    """
    blocks = [-meet(data, variance, pull, code, n) for code, n in zip(data.codes, data.levels, strict=True)]
    top = np.concatenate(blocks)
    start, size = len(top), top.shape[1]
    scales, width = len(data.marks), len(pull)
    whole = np.zeros((size, size))
    whole[:start] = top
    whole[start:, :start] = top[:, start:].T
    for h in range(width):
        for k in range(h + 1):
            shared = np.bincount(data.scale, weights=both[h, k], minlength=scales)
            at = start + np.arange(scales) * width
            whole[at + h, at + k] = whole[at + k, at + h] = shared
    return whole


def without_estimate(used: Ratings) -> list[Problem]:
    """Return the levels of facets that have nothing or everything, for which no likelihood has a maximum."""
    problems = []
    for name, code, n in zip(used.facets, used.codes, used.levels, strict=True):
        got = np.bincount(code, weights=used.category, minlength=n)
        most = np.bincount(code, weights=used.tops[used.scale], minlength=n)
        for level in np.flatnonzero((got == 0) | (got == most)):
            says, remedy = "has nothing or everything and so no finite estimate", "leave its marks out"
            problems.append(Problem(place=name, value=str(level), says=says, remedy=remedy))
    return problems


def _check(data: Ratings, used: Ratings) -> None:
    problems = without_estimate(used)
    for scale, top in enumerate(data.tops):
        given = np.unique(used.category[used.scale == scale])
        if len(given) <= top:
            says, mend = "has a category given to extreme candidates only", "keep extremes"
            problems.append(Problem(place="scale", value=str(scale), says=says, remedy=mend))
    if problems:
        raise InputError(problems)
