"""Whether the findings fit anything the model knows: a posterior predictive check."""

from __future__ import annotations

from functools import cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from fabella.infer.evidence_of import KneeEvidence, Observation
from fabella.infer.model import Model
from fabella.infer.posterior import Posterior
from fabella.infer.result import Fit
from fabella.infer.simulate import draw_a_row

Floats = NDArray[np.float64]

REPLICATES = 400
POOR = 0.07
"""Predictive probability below which findings fit poorly.

The check is conservative, as the findings choose the lesions they are compared with. Found by simulation: of
4,000 knees drawn from the model in four clinics and examined by all routine signs 5 % lie below it (0.055 to
0.085 in each); of knees examined by thirty signs fewer.
"""
ODD = 0.10
"""A finding is odd when knees with the concluded lesions show it so much less often than any knees do."""
MOST_LISTED = 6
"""Signs of one group of which all outcomes are listed; of more only those that were drawn."""


def fit(model: Model, evidence: KneeEvidence, post: Posterior, rng: np.random.Generator) -> Fit:
    """Compare the findings with what knees having the concluded lesions would show.

    After Gelman, Meng & Stern 1996, Statistica Sinica 6:733 (from memory).
    States are drawn from the posterior; each replicate of the same signs, called normal or abnormal, is drawn
    from its state; the discrepancy is how much less likely it is there, group by group, than where it is
    likeliest: a sign that is rare wherever it occurs surprises nobody. ``p_value`` is the share of replicates
    at least as surprising as what was found.
    """
    flat = post.joint.ravel()
    drawn = rng.choice(flat.size, size=REPLICATES, p=flat / flat.sum())
    pairs, which, times = np.unique(drawn, return_inverse=True, return_counts=True)
    guarded, state = np.divmod(pairs, post.joint.shape[1])  # each pair of guarding and state that was drawn
    calm = int(np.searchsorted(guarded, 1))
    by_side = np.stack([times * (guarded == side) for side in (0, 1)]) / REPLICATES
    surprise, replicated = np.zeros(len(pairs)), np.zeros(REPLICATES)
    odd: dict[str, float] = {}
    by_group: dict[tuple[str, ...], list[Observation]] = {}
    for observation in evidence.observations:
        by_group.setdefault(model.group_of(observation.sign), []).append(observation)
    for group, observations in by_group.items():
        table = model.table(evidence.setting, group)
        joint = table.joint[table.configuration[state]]
        called = _called(model, evidence, observations)
        found = np.array([observation.abnormal for observation in observations])
        if len(found) <= MOST_LISTED:
            outcomes, again = _every(len(found)), None
        else:
            level = draw_a_row(joint[which], rng)
            drawn_too = rng.random((len(found), REPLICATES)) < called[:, guarded[which], level]
            outcomes, again = np.unique(np.column_stack([drawn_too, found]), axis=1, return_inverse=True)
        likely = _likelihood(called, outcomes)
        chance = np.concatenate([joint[:calm] @ likely[0].T, joint[calm:] @ likely[1].T])
        startling = _log((likely @ table.joint.T).max(axis=(0, 2))) - _log(chance)
        surprise += startling[:, (found == outcomes.T).all(axis=1).argmax()]
        replicated += startling[which, draw_a_row(chance[which], rng) if again is None else again[:-1]]
        seen = np.where(found[:, None, None], called, 1 - called)
        share = (by_side @ joint * seen).sum(axis=(1, 2)) / (seen @ table.joint.T).max(axis=(1, 2))
        for observation, likely_share in zip(observations, share.tolist(), strict=True):
            odd[observation.recorded] = min(likely_share, odd.get(observation.recorded, 1.0))
    p_value = float((replicated >= surprise[which] - 1e-9).mean())
    strange = sorted((sign for sign, likely in odd.items() if likely < ODD), key=odd.__getitem__)
    return Fit(p_value=p_value, poor=p_value < POOR, odd=tuple(strange))


def _log(chance: Floats) -> Floats:
    return np.asarray(np.log(np.maximum(chance, 1e-300)))


@cache
def _every(signs: int) -> NDArray[np.bool_]:
    """Return all outcomes of so many signs, (signs, 2^signs)."""
    return np.array(list(product([False, True], repeat=signs))).T


def _likelihood(called: Floats, outcomes: NDArray[np.bool_]) -> Floats:
    """Return P(outcome | guarding, joint level) of one group, (2, outcomes, joint levels).

    ``called`` is (signs, 2, joint levels), ``outcomes`` (signs, outcomes) says which signs are abnormal.
    """
    no, yes = (_log(chance).swapaxes(0, 1) for chance in (1 - called, called))
    return np.asarray(np.exp(no.sum(axis=1, keepdims=True) + outcomes.T @ (yes - no)))


def _called(model: Model, evidence: KneeEvidence, observations: list[Observation]) -> Floats:
    """Return P(abnormal | guarding, joint level) of each observed sign: (signs, 2, joint levels)."""
    setting = evidence.setting
    return np.stack([1 - model.outcome(o.sign, setting, o.grades).point[..., 0] for o in observations])
