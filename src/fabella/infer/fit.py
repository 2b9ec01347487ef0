"""Whether the findings fit anything the model knows: a posterior predictive check."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fabella.infer.evidence_of import KneeEvidence, Observation
from fabella.infer.model import Model
from fabella.infer.posterior import Posterior
from fabella.infer.result import Fit

Floats = NDArray[np.float64]

REPLICATES = 400
POOR = 0.07
"""Predictive probability below which findings fit poorly.

The check is conservative, as the findings choose the lesions they are compared with. Found by simulation: of
10,000 knees drawn from the model in four clinics and examined by all routine signs 5 % lie below it (0.06 to
0.075 in each); of knees examined by thirty signs only 3 %.
"""
ODD = 0.10
"""A finding is odd when knees with the concluded lesions show it less often than this."""


def fit(model: Model, evidence: KneeEvidence, post: Posterior, rng: np.random.Generator) -> Fit:
    """Compare the findings with what knees having the concluded lesions would show.

    After Gelman, Meng & Stern 1996, Statistica Sinica 6:733 (from memory).
    States are drawn from the posterior; each replicate of the same signs, called normal or abnormal, is drawn
    from its state; the discrepancy is minus its log likelihood. ``p_value`` is the share of replicates at
    least as surprising as what was found.
    """
    flat = post.joint.ravel()
    drawn = rng.choice(flat.size, size=REPLICATES, p=flat / flat.sum())
    pairs, which, times = np.unique(drawn, return_inverse=True, return_counts=True)
    guarded, state = np.divmod(pairs, post.joint.shape[1])  # each pair of guarding and state that was drawn
    by_side = np.stack([times * (guarded == side) for side in (0, 1)]) / REPLICATES
    surprise, replicated = np.zeros(len(pairs)), np.zeros(REPLICATES)
    odd: dict[str, float] = {}
    by_group: dict[tuple[str, ...], list[Observation]] = {}
    for observation in evidence.observations:
        by_group.setdefault(model.group_of(observation.sign), []).append(observation)
    for group, observations in by_group.items():
        table = model.table(evidence.setting.acuity, group)
        joint = table.joint[table.configuration[state]]
        called = _called(model, evidence, observations)
        level = (rng.random((REPLICATES, 1)) > np.cumsum(joint, axis=1)[which, :-1]).sum(axis=1)
        chance = called[:, guarded[which], level]
        again = rng.random(chance.shape) < chance
        found = np.array([[observation.abnormal] for observation in observations])
        surprise -= np.log(np.maximum((joint * _likelihood(called, found)[guarded, 0]).sum(axis=1), 1e-300))
        likely = _likelihood(called, again)[guarded[which], np.arange(REPLICATES)]
        replicated -= np.log(np.maximum((joint[which] * likely).sum(axis=1), 1e-300))
        seen = np.where(found[..., None], called, 1 - called)
        for observation, share in zip(observations, (by_side @ joint * seen).sum(axis=(1, 2)), strict=True):
            odd[observation.recorded] = float(share)
    p_value = float((replicated >= surprise[which] - 1e-9).mean())
    strange = sorted((sign for sign, likely in odd.items() if likely < ODD), key=odd.__getitem__)
    return Fit(p_value=p_value, poor=p_value < POOR, odd=tuple(strange))


def _likelihood(called: Floats, abnormal: NDArray[np.bool_]) -> Floats:
    """Return P(outcomes | guarding, joint level) of one group, (2, replicates, joint levels).

    ``called`` is (signs, 2, joint levels), ``abnormal`` (signs, replicates).
    """
    no, yes = (np.log(np.maximum(chance, 1e-300)).swapaxes(0, 1) for chance in (1 - called, called))
    return np.asarray(np.exp(no.sum(axis=1, keepdims=True) + abnormal.T @ (yes - no)))


def _called(model: Model, evidence: KneeEvidence, observations: list[Observation]) -> Floats:
    """Return P(abnormal | guarding, joint level) of each observed sign: (signs, 2, joint levels)."""
    setting = evidence.setting.setting
    return np.stack([1 - model.outcome(o.sign, setting, o.grades).point[..., 0] for o in observations])
