"""Errors of predicted effects that know that variances were themselves estimated.

The usual prediction error takes the variance of examiners as known. With a dozen examiners it is not: it may
even be estimated as 0, and every error with it. So predictions are averaged over what the data allow the
variances of examiners and stations to be: over the ratios of SDs, all values being taken as equally likely
beforehand and weighted by the restricted likelihood. The part of the equations that belongs to the
candidates is eliminated once, so that each of the hundred or so places costs a small matrix.

Source: integrating over variances by likelihood, Harville 1977 J Am Stat Assoc 72:320; uniform weight on the
SD, Gelman 2006 Bayesian Anal 1:515 (both from memory). That intervals then hold the truth as often as they
say is tested by simulation.
"""

from itertools import product

import numpy as np
import scipy

from fabella.assess.gstudy_design import Array, Codes
from fabella.assess.gstudy_reml import MixedModel, Profile
from fabella.stats.threads import one_thread

_NODES = 13
_MOST_TERMS = 2  # integrated over together; further ones stay where they are estimated
_DEEP = 14.0  # of the deviance, beyond which nothing is weighed


def prediction_error(model: MixedModel, name: str) -> Array:
    """Return the root mean square error of each predicted effect of a term [mark].

    Parameters
    ----------
    model
        The fitted model.
    name
        Of the term. The errors of candidates are those of the model: they are many, and their variance is
        known well enough.
    """
    k = [effect.name for effect in model.effects].index(name)
    effect = model.effects[k]
    if model.profile.equations.is_inner[k]:
        return effect.se
    outside = [j for j, inner in enumerate(model.profile.equations.is_inner) if not inner and j != k]
    terms = [k, *sorted(outside, key=lambda j: model.profile.equations.levels[j])][:_MOST_TERMS]
    with one_thread():
        rest = _Rest(model.profile, model.theta)
        return _averaged(rest, model.theta, terms, effect.estimate)


def _averaged(rest: "_Rest", theta: Array, terms: list[int], centre: Array) -> Array:
    least = rest.deviance(theta)
    spans = [_range(rest, theta, term, least) for term in terms]
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    total, mass = np.zeros_like(centre), 0.0
    for place in product(range(_NODES), repeat=len(terms)):
        at = theta.copy()
        for term, (low, high), node in zip(terms, spans, place, strict=True):
            at[term] = low + (high - low) * (nodes[node] + 1) / 2
        effect, variance, deviance = rest.predicted(at, terms[0])
        share = float(np.prod(weights[list(place)]) * np.exp((least - deviance) / 2))
        total += share * (variance + (effect - centre) ** 2)
        mass += share
    found: Array = np.sqrt(total / mass)
    return found


class _Rest:
    """What is left of the equations when the candidates' part has been eliminated for good."""

    def __init__(self, profile: Profile, theta: Array) -> None:
        equations = profile.equations
        inner, _ = equations.scales(theta)
        own = equations.own * inner[:, None] * inner + np.eye(equations.width)
        joined = equations.joined * inner[:, None]
        right = profile.right[0] * inner
        bridge = np.linalg.solve(own, joined)
        flat = (-1, equations.rest)
        self.matrix = equations.remaining - joined.reshape(flat).T @ bridge.reshape(flat)
        self.right = profile.right[1] - bridge.reshape(flat).T @ right.ravel()
        solved = np.linalg.solve(own, right[:, :, None])[:, :, 0]
        self.penalised = profile.total - float((right * solved).sum())
        self.log_det = float(np.linalg.slogdet(own)[1].sum())
        self.equations, self.free = equations, profile.free

    def _solve(self, theta: Array) -> tuple[tuple[Array, bool], Array, float, float]:
        """Return the root of the scaled matrix, the scaled solution, the residual variance, the deviance."""
        scale = self.equations.scales(theta)[1]
        matrix = self.matrix * scale[:, None] * scale
        random = np.arange(self.equations.random_rest)
        matrix[random, random] += 1
        root = scipy.linalg.cho_factor(matrix, lower=True)
        solved = scipy.linalg.cho_solve(root, self.right * scale)
        variance = (self.penalised - float(self.right * scale @ solved)) / self.free
        log_det = self.log_det + 2 * float(np.log(np.diagonal(root[0])).sum())
        return root, solved, variance, log_det + self.free * (1 + float(np.log(2 * np.pi * variance)))

    def deviance(self, theta: Array) -> float:
        """Return the deviance."""
        return self._solve(theta)[3]

    def predicted(self, theta: Array, k: int) -> tuple[Array, Array, float]:
        """Return predictions of one random effect, their variances, and the deviance."""
        root, solved, variance, deviance = self._solve(theta)
        spot: Codes = self.equations.inner_at[k][1]
        columns = np.zeros((len(solved), len(spot)))
        columns[spot, np.arange(len(spot))] = 1
        inverse = scipy.linalg.solve_triangular(root[0], columns, lower=True)
        return solved[spot] * theta[k], (inverse**2).sum(axis=0) * theta[k] ** 2 * variance, deviance


def _range(rest: _Rest, theta: Array, k: int, least: float) -> tuple[float, float]:
    """Return between which ratios of SDs of one term the likelihood weighs anything."""

    def depth(value: float) -> float:
        at = theta.copy()
        at[k] = value
        return rest.deviance(at) - least

    best = float(theta[k])
    step = max(best / 4, 0.05)
    high = best + step
    while depth(high) < _DEEP and high < 1e3:
        step *= 1.5
        high += step
    low, step = best, max(best / 4, 0.05)
    while low > 0 and depth(low) < _DEEP:
        low = max(low - step, 0.0)
        step *= 1.5
    return low, high
