"""The exact posterior over the states of one knee, and its spread over the uncertainty of the parameters.

``log p(x, g | findings) = log p(x) + log p(g | x) + sum over groups of log sum_m P(m | x) product_s L_s(m,
g)``
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from fabella.infer.context import Setting
from fabella.infer.evidence_of import ImageRead, KneeEvidence, Observation
from fabella.infer.groups import GroupTable
from fabella.infer.model import Model
from fabella.infer.network import GUARDING, told_apart

Floats = NDArray[np.float64]

GUARDING_SEEN = (0.03, 0.5)
"""Chance that a test is recorded as prevented by pain or guarding, without and with guarding (judgement)."""
KEPT_MASS = 1 - 1e-3
MOST_KEPT = 500
AT_ONCE = 128
"""Configurations whose drawn chances are worked out together; more would not stay in the cache."""


@dataclass(frozen=True, eq=False)
class GroupLikelihood:
    """Likelihood of a group's findings: (2, joint levels), without and with guarding."""

    table: GroupTable
    likelihood: Floats

    @cached_property
    def by_configuration(self) -> Floats:
        """P(findings | configuration, guarding), never quite 0, shape (2, configurations).

        Or (1, configurations) where guarding makes no difference.
        """
        calm, guarded = self.likelihood
        sides = self.likelihood[:1] if np.array_equal(calm, guarded) else self.likelihood
        return np.maximum(sides @ self.table.joint.T, 1e-300)


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Posterior of one knee over all states.

    ``joint`` (2, states) is without and with guarding; ``log_evidence`` is log P(findings).
    """

    joint: Floats
    log_evidence: float

    @property
    def states(self) -> Floats:
        """Return the posterior of each state (states,)."""
        return np.asarray(self.joint.sum(axis=0))

    @property
    def guarding(self) -> float:
        """Return the posterior probability that the knee guards."""
        return float(self.joint[1].sum())

    def reweighted(self, states: Floats) -> Posterior:
        """Return the posterior with other chances of the states (states,), guarding in each as before."""
        own = self.states
        return Posterior(
            self.joint * np.divide(states, own, out=np.zeros_like(own), where=own > 0), self.log_evidence
        )

    def kept(self, mass: float = KEPT_MASS, most: int = MOST_KEPT) -> NDArray[np.intp]:
        """Return the fewest states that carry ``mass``, at most ``most`` of them.

        State 0 is always among them.
        """
        p = self.states
        order = likeliest(p, most)
        count = int(np.searchsorted(np.cumsum(p[order]), mass)) + 1
        return np.union1d(order[:count], [0])


@lru_cache(maxsize=4)
def group_likelihoods(model: Model, evidence: KneeEvidence) -> Mapping[tuple[str, ...], GroupLikelihood]:
    """Return the point likelihood of every group of manifestations that was looked at."""
    setting = model.circumstances(evidence.setting)
    return {
        group: _group_likelihood(model, setting, group, tuple(evidence.observations[i] for i in own))
        for group, own in model.by_group(each.sign for each in evidence.observations).items()
    }


@lru_cache(maxsize=128)
def _group_likelihood(
    model: Model, setting: Setting, group: tuple[str, ...], observations: tuple[Observation, ...]
) -> GroupLikelihood:
    """Return the point likelihood of one group: from one finding to the next most stay as they were."""
    first, *others = (sign_likelihood(model, setting, each) for each in observations)
    for other in others:
        first = other * first
    return GroupLikelihood(model.table(setting, group), first)


def sign_likelihood(model: Model, setting: Setting, observation: Observation) -> Floats:
    """Return the point likelihood of one finding, (2, joint levels), without and with guarding."""
    outcome = model.outcome(observation.sign, setting, observation.grades)
    return np.asarray(outcome.point @ np.array(observation.weights))


def likeliest(p: Floats, most: int) -> NDArray[np.intp]:
    """Return the positions of the ``most`` largest probabilities, the largest first."""
    found = np.argpartition(-p, min(most, len(p)) - 1)[:most]
    return np.asarray(found[np.argsort(-p[found])])


def posterior(model: Model, evidence: KneeEvidence) -> Posterior:
    """Return the exact posterior of one knee with the point values of every parameter."""
    log_p = log_prior(model, evidence).copy()
    alike = np.zeros_like(log_p[0])  # what the findings that guarding does not touch add to both sides
    for group in group_likelihoods(model, evidence).values():
        seen = np.log(group.by_configuration)
        for total, likelihood in zip((alike,) if len(seen) == 1 else log_p, seen, strict=True):
            np.add(total, likelihood.take(group.table.configuration), out=total)
    log_p += alike
    top = log_p.max()
    p = np.exp(log_p - top)
    return Posterior(np.asarray(p / p.sum()), float(top + np.log(p.sum())))


def log_prior(model: Model, evidence: KneeEvidence) -> Floats:
    """Return log p(x, g), (2, states), with the sight of guarding and what images show entered."""
    return _log_prior(model, evidence.setting, evidence.images, guarded=evidence.guarded)


@lru_cache(maxsize=4)
def _log_prior(model: Model, setting: Setting, images: tuple[ImageRead, ...], *, guarded: bool) -> Floats:
    guarding = model.guarding(setting)
    seen = GUARDING_SEEN if guarded else (1.0, 1.0)
    with np.errstate(divide="ignore"):
        state = np.log(model.prior(setting).probability)
    state = state + model.images.log_likelihood(images)
    both = np.asarray(state + np.log(np.stack([(1 - guarding) * seen[0], guarding * seen[1]])))
    both.flags.writeable = False
    return both


def drawn_posteriors(model: Model, evidence: KneeEvidence, kept: NDArray[np.intp]) -> NDArray[np.float32]:
    """Return the posterior of each kept state under every draw of the parameters, shape (kept, draws)."""
    setting = evidence.setting
    log_p = _drawn_prior(model, evidence, kept)
    alike = np.zeros_like(log_p[0])  # what the findings that guarding does not touch add to both sides
    row = np.empty_like(alike)
    for group, own in model.by_group(each.sign for each in evidence.observations).items():
        observations = [evidence.observations[i] for i in own]
        table = model.table(setting, group)
        used, position = told_apart(table.configuration[kept])
        outcomes = [model.outcome(o.sign, setting, o.grades) for o in observations]
        sides = 2 if any(outcome.guards for outcome in outcomes) else 1
        likelihood = np.ones((), dtype=np.float32)
        for observation, outcome in zip(observations, outcomes, strict=True):
            levels = (
                weight * outcome.drawn[:sides, k] for k, weight in enumerate(observation.weights) if weight
            )
            likelihood = likelihood * sum(levels)
        shown = {name for o in observations for name, _ in model.knowledge.indicators[o.sign].manifestations}
        found = [
            _drawn_likelihood(model, setting, table, examples, likelihood, shown=shown)
            for examples in np.array_split(table.example[used], -(-len(used) // AT_ONCE))
        ]
        seen = np.concatenate(found, axis=1)
        np.log(np.maximum(seen, 1e-37, out=seen), out=seen)
        for total, one in zip((alike,) if sides == 1 else log_p, seen, strict=True):
            one.take(position, axis=0, out=row, mode="clip")  # which spares a copy: no position is beyond
            np.add(total, row, out=total)
    log_p += alike
    log_p -= log_p.max(axis=(0, 1))
    p = np.exp(log_p).sum(axis=0)
    return np.asarray(p / p.sum(axis=0))


def _drawn_prior(model: Model, evidence: KneeEvidence, kept: NDArray[np.intp]) -> NDArray[np.float32]:
    """Return `log_prior` under every draw of what it rests on, (2, kept, draws)."""
    setting = evidence.setting
    manifestation = model.manifestation(setting, GUARDING)
    used, position = told_apart(manifestation.configuration[kept])
    guarding = manifestation.drawn_distribution(model.drawn_quiet(setting, GUARDING), used)[:, 1]
    seen = GUARDING_SEEN if evidence.guarded else (1.0, 1.0)
    with np.errstate(divide="ignore"):
        state = np.log(model.prior(evidence.setting).probability[kept]).astype(np.float32)
    both = np.log(np.maximum(np.stack([(1 - guarding) * seen[0], guarding * seen[1]]), 1e-12))
    shift = model.drawn_rates[model.states.members[kept]].sum(axis=1)
    shift += model.images.drawn_log_likelihood(evidence.images, kept)
    return np.asarray(state[:, None] + shift + np.take(both, position, axis=1), dtype=np.float32)


def _drawn_likelihood(
    model: Model,
    setting: Setting,
    table: GroupTable,
    examples: NDArray[np.intp],
    likelihood: NDArray[np.float32],
    *,
    shown: Container[str],
) -> NDArray[np.float32]:
    """Return drawn P(findings | configuration), (sides, configurations, draws).

    ``likelihood`` (sides, joint levels, draws) is summed over one manifestation after the other, the last
    first, so that their joint distribution need not be made; those that no finding shows sum to 1.
    """
    sides, _, draws = likelihood.shape
    found = likelihood[:, None]
    for manifestation in reversed(table.manifestations):
        by_level = found.reshape(sides, found.shape[1], -1, manifestation.levels + 1, draws)
        if manifestation.name not in shown:
            found = by_level[:, :, :, 0]
            continue
        quiet = model.drawn_quiet(setting, manifestation.name)
        if len(table.manifestations) == 1:  # its configurations are those of the group
            share = manifestation.drawn_distribution(quiet, manifestation.configuration[examples])
            found = np.einsum("scrld,cld->scrd", by_level, share)
            continue
        used, position = told_apart(manifestation.configuration[examples])
        share = manifestation.drawn_distribution(quiet, used)
        if found.shape[1] == 1:  # as yet the same for all configurations
            found = np.einsum("scrld,cld->scrd", by_level, share)[:, position]
        else:
            found = np.einsum("scrld,cld->scrd", by_level, share[position])
    return found[:, :, 0]
