"""The exact posterior over the states of one knee, and its spread over the uncertainty of the parameters.

``log p(x, g | findings) = log p(x) + log p(g | x) + sum over groups of log sum_m P(m | x) product_s L_s(m, g)``
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.infer.evidence_of import KneeEvidence, Observation
from fabella.infer.indicators import Response, outcome_table
from fabella.infer.model import GroupTable, Model, Sign, combine
from fabella.infer.network import GUARDING

Floats = NDArray[np.float64]

GUARDING_SEEN = (0.03, 0.5)
"""Chance that a test is recorded as prevented by pain or guarding, without and with guarding (judgement)."""
KEPT_MASS = 1 - 1e-4
MOST_KEPT = 1500


@dataclass(frozen=True, slots=True, eq=False)
class GroupLikelihood:
    """Likelihood of a group's findings: (2, joint levels), without and with guarding."""

    table: GroupTable
    likelihood: Floats

    def log_by_configuration(self) -> Floats:
        """Return log P(findings | configuration, guarding), shape (2, configurations)."""
        return np.log(np.maximum(self.likelihood @ self.table.joint.T, 1e-300))


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Posterior of one knee over all states: ``joint`` (2, states) without and with guarding; log evidence."""

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

    def kept(self, mass: float = KEPT_MASS, most: int = MOST_KEPT) -> NDArray[np.intp]:
        """Return the fewest states that carry ``mass``, at most ``most`` of them, state 0 always among them."""
        p = self.states
        order = np.argsort(-p)
        count = int(np.searchsorted(np.cumsum(p[order]), mass)) + 1
        return np.union1d(order[: min(count, most)], [0])


def sign_likelihood(
    sign: Sign, observation: Observation, group: tuple[str, ...], levels: tuple[int, ...], response: Response
) -> Floats:
    """Return P(what was found | joint level, guarding): (2, joint levels), or (2, draws, joint levels) when drawn."""
    weights = np.array(observation.weights)
    return np.stack(
        [
            outcome_table(sign.indicator, group, levels, observation.grades, response, guarded=guarded)
            @ weights
            for guarded in (False, True)
        ]
    )


def group_likelihoods(model: Model, evidence: KneeEvidence) -> Mapping[tuple[str, ...], GroupLikelihood]:
    """Return the point likelihood of every group of manifestations that was looked at."""
    signs = model.signs(evidence.setting.setting)
    found: dict[tuple[str, ...], GroupLikelihood] = {}
    for observation in evidence.observations:
        group = model.group_of(observation.sign)
        table = model.table(evidence.setting.acuity, group)
        sign = signs[observation.sign]
        own = sign_likelihood(sign, observation, group, table.levels, sign.response)
        before = found[group].likelihood if group in found else 1.0
        found[group] = GroupLikelihood(table, own * before)
    return found


def posterior(model: Model, evidence: KneeEvidence) -> Posterior:
    """Return the exact posterior of one knee with the point values of every parameter."""
    log_p = log_prior(model, evidence)
    for group in group_likelihoods(model, evidence).values():
        log_p += group.log_by_configuration()[:, group.table.configuration]
    top = log_p.max()
    p = np.exp(log_p - top)
    return Posterior(np.asarray(p / p.sum()), float(top + np.log(p.sum())))


def log_prior(model: Model, evidence: KneeEvidence) -> Floats:
    """Return log p(x, g), (2, states), with the sight of guarding entered when there was any."""
    guarding = model.guarding(evidence.setting.acuity)
    seen = GUARDING_SEEN if evidence.guarded else (1.0, 1.0)
    with np.errstate(divide="ignore"):
        state = np.log(model.prior(evidence.setting).probability)
    return np.asarray(state + np.log(np.stack([(1 - guarding) * seen[0], guarding * seen[1]])))


def drawn_posteriors(model: Model, evidence: KneeEvidence, kept: NDArray[np.intp]) -> Floats:
    """Return the posterior of each kept state under every draw of the parameters, shape (draws, kept)."""
    acuity = evidence.setting.acuity
    log_p = _drawn_prior(model, evidence, kept)
    signs = model.signs(evidence.setting.setting)
    by_group: dict[tuple[str, ...], list[Observation]] = {}
    for observation in evidence.observations:
        by_group.setdefault(model.group_of(observation.sign), []).append(observation)
    for group, observations in by_group.items():
        table = model.table(acuity, group)
        used, position = np.unique(table.configuration[kept], return_inverse=True)
        likelihood: Floats | float = 1.0
        guards = False
        for observation in observations:
            sign = signs[observation.sign]
            likelihood = likelihood * sign_likelihood(sign, observation, group, table.levels, sign.drawn)
            guards = guards or sign.indicator.guard_loss > 0
        joint = _drawn_joint(model, acuity, table, table.example[used])
        sides = likelihood if guards else np.asarray(likelihood)[:1]
        by_configuration = np.log(np.maximum(np.matmul(joint, np.asarray(sides)[..., None])[..., 0], 1e-300))
        log_p += by_configuration.astype(np.float32)[..., position]
    log_p -= log_p.max(axis=(0, 2), keepdims=True)
    p = np.exp(log_p).sum(axis=0)
    return np.asarray(p / p.sum(axis=1, keepdims=True), dtype=np.float64)


def _drawn_prior(model: Model, evidence: KneeEvidence, kept: NDArray[np.intp]) -> NDArray[np.float32]:
    """Return log p(x, g) under every draw of the guarding chances, (2, draws, kept)."""
    manifestation = model.network(evidence.setting.acuity).manifestations[GUARDING]
    used, position = np.unique(manifestation.configuration[kept], return_inverse=True)
    chance = model.drawn_chances(evidence.setting.acuity, GUARDING)
    guarding = manifestation.distribution(chance, used)[..., 1][:, position]
    seen = GUARDING_SEEN if evidence.guarded else (1.0, 1.0)
    with np.errstate(divide="ignore"):
        state = np.log(model.prior(evidence.setting).probability[kept])
    both = np.stack([(1 - guarding) * seen[0], guarding * seen[1]])
    return (state + np.log(np.maximum(both, 1e-12))).astype(np.float32)


def _drawn_joint(model: Model, acuity: str | None, table: GroupTable, examples: NDArray[np.intp]) -> Floats:
    """Return drawn P(joint level | configuration), (draws, configurations, joint levels)."""
    singles = []
    for manifestation in table.manifestations:
        chance = model.drawn_chances(acuity, manifestation.name)
        used, position = np.unique(manifestation.configuration[examples], return_inverse=True)
        singles.append(manifestation.distribution(chance, used)[:, position])
    return combine(singles)
