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

from fabella.assess.gstudy_design import Array, Codes
from fabella.assess.gstudy_profile import Profile
from fabella.assess.gstudy_reml import MixedModel
from fabella.stats.threads import one_thread

_NODES = 11
_MOST_TERMS = 2  # integrated over together; further ones stay where they are estimated
_ENTRIES = 2_000_000  # of all matrices held at a time
_DEEP = 14.0  # of the deviance, beyond which nothing is weighed


def prediction_error(model: MixedModel, name: str) -> Array:
    """Return the root mean square error of each predicted effect of a term [mark].

    Parameters
    ----------
    model
        The fitted model.
    name
        Of the term.
    """
    k = [effect.name for effect in model.effects].index(name)
    profile, theta = model.profile, model.theta
    if profile.equations.is_inner[k]:  # fewer candidates than examiners: nothing may be eliminated
        own = np.arange(len(profile.y))
        profile = Profile(profile.y, profile.equations.fixed, [*profile.random, own], block=len(theta))
        theta = np.append(theta, 0.0)
    equations = profile.equations
    outside = [j for j, inner in enumerate(equations.is_inner) if not inner and j != k]
    terms = [k, *sorted(outside, key=lambda j: equations.levels[j])][:_MOST_TERMS]
    with one_thread(scipy_too=True):
        return _averaged(_Rest(profile, theta), theta, terms, model.effects[k].estimate)


def _averaged(rest: "_Rest", theta: Array, terms: list[int], centre: Array) -> Array:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    grid = np.array(list(product(range(_NODES), repeat=len(terms))))
    places = np.tile(theta, (len(grid), 1))
    for n, term in enumerate(terms):
        low, high = _range(rest, theta, term)
        places[:, term] = low + (high - low) * (nodes[grid[:, n]] + 1) / 2
    effect, variance, deviance = rest.at(places, terms[0])
    share = weights[grid].prod(axis=1) * np.exp((deviance.min() - deviance) / 2)
    found: Array = np.sqrt(share @ (variance + (effect - centre) ** 2) / share.sum())
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

    def at(self, places: Array, k: int) -> tuple[Array, Array, Array]:
        """Return predictions of one random effect and their variances, a row a place, and deviances."""
        parts = max(1, len(places) * self.equations.rest**2 // _ENTRIES)
        some = [self._some(each, k) for each in np.array_split(places, parts) if len(each)]
        effect, variance, deviance = (np.concatenate(each) for each in zip(*some, strict=True))
        return effect, variance, deviance

    def _some(self, places: Array, k: int) -> tuple[Array, Array, Array]:
        scale = np.stack([self.equations.scales(theta)[1] for theta in places])
        matrix = self.matrix * scale[:, :, None] * scale[:, None, :]
        random = np.arange(self.equations.random_rest)
        matrix[:, random, random] += 1
        inverse = np.linalg.inv(matrix)
        right = self.right * scale
        solved = np.einsum("nij,nj->ni", inverse, right)
        variance = (self.penalised - (right * solved).sum(axis=1)) / self.free
        deviance = (
            self.log_det + np.linalg.slogdet(matrix)[1] + self.free * (1 + np.log(2 * np.pi * variance))
        )
        spot: Codes = self.equations.inner_at[k][1]
        own = places[:, k, None]
        return solved[:, spot] * own, inverse[:, spot, spot] * own**2 * variance[:, None], deviance


def _range(rest: _Rest, theta: Array, k: int) -> tuple[float, float]:
    """Return between which ratios of SDs of one term the likelihood weighs anything."""
    steps = np.concatenate([np.linspace(0, 2, 21), np.geomspace(2.2, 1000, 30)]) * max(float(theta[k]), 0.25)
    places = np.tile(theta, (len(steps) + 1, 1))
    places[:-1, k] = steps
    deviance = rest.at(places, k)[2]
    inside = np.flatnonzero(deviance[:-1] < deviance.min() + _DEEP)
    return float(steps[max(inside[0] - 1, 0)]), float(steps[min(inside[-1] + 1, len(steps) - 1)])
