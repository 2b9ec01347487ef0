"""Abilities of candidates when all else is known: by likelihood so weighted that bias goes.

The weighted likelihood of Warm 1989 Psychometrika 54:427 (from memory) solves sum(x - E) + J / (2 I) = 0 with
I = sum of variances and J = sum of third central moments. It takes most of the bias of maximum likelihood
away, and gives candidates with nothing or everything an ability too.
"""

import numpy as np

from fabella.assess.facets_ratings import Ratings, cumulated, log_probabilities
from fabella.assess.gstudy_design import Array

_FURTHEST = 12.0  # logits


def locations(data: Ratings, ability: Array, effects: Array) -> Array:
    """Return ability less difficulty and severity of each observation [logit].

    Parameters
    ----------
    data
        The observations.
    ability
        Of each candidate [logit].
    effects
        Of all facets, one after another [logit].
    """
    place = ability[data.candidate].copy()
    for start, code in zip(data.offsets, data.codes, strict=False):
        place -= effects[start + code]
    return place


def abilities(data: Ratings, effects: Array, thresholds: Array, *, start: Array) -> tuple[Array, Array]:
    """Return ability and standard error of each candidate [logit], facets and thresholds being known.

    Parameters
    ----------
    data
        The observations.
    effects
        Of all facets, one after another [logit].
    thresholds
        Of each scale [logit], shape (scales, thresholds).
    start
        Where the search begins [logit], shape (candidates,).
    """
    n = data.n_candidates
    sums = cumulated(thresholds, data.tops)[data.scale].T.copy()
    total = np.bincount(data.candidate, weights=data.category, minlength=n)
    theta = start.copy()
    steps = np.arange(len(sums), dtype=np.float64)
    information = np.ones(n)
    for _ in range(60):
        probability = np.exp(log_probabilities(locations(data, theta, effects), sums))
        mean = steps @ probability
        away = steps[:, None] - mean
        variance = (probability * away**2).sum(axis=0)
        information = np.maximum(np.bincount(data.candidate, weights=variance, minlength=n), 1e-10)
        slope: Array = total - 1.0 * np.bincount(data.candidate, weights=mean, minlength=n)
        third = np.bincount(data.candidate, weights=(probability * away**3).sum(axis=0), minlength=n)
        slope += third / (2 * information)
        step = np.clip(slope / information, -1, 1)
        theta = np.clip(theta + step, -_FURTHEST, _FURTHEST)
        if np.abs(step).max() < 1e-9:
            break
    return theta, 1 / np.sqrt(information)
