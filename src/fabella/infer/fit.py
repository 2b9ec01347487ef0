"""Whether the findings fit anything the model knows: a posterior predictive check."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from fabella.infer.context import Setting
from fabella.infer.evidence_of import KneeEvidence
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
    circumstances = model.circumstances(evidence.setting)
    for group, own in model.by_group(each.sign for each in evidence.observations).items():
        observations = [evidence.observations[i] for i in own]
        table = model.table(circumstances, group)
        joint = table.joint[table.configuration[state]]
        found = np.array([observation.abnormal for observation in observations])
        signs = tuple((observation.sign, observation.grades) for observation in observations)
        expected = _expected(model, circumstances, group, signs)
        if expected.listed:
            listed, again = expected.listed, None
        else:
            level = draw_a_row(joint, rng, rows=which)
            drawn_too = rng.random((len(found), REPLICATES)) < expected.called[:, guarded[which], level]
            outcomes, again = np.unique(np.column_stack([drawn_too, found]), axis=1, return_inverse=True)
            listed = _listed(table.joint, expected.called, outcomes)
        likely = listed.likely
        chance = np.concatenate([joint[:calm] @ likely[0].T, joint[calm:] @ likely[1].T])
        startling = _log(listed.likeliest) - _log(chance)
        surprise += startling[:, (found == listed.outcomes.T).all(axis=1).argmax()]
        replicated += startling[which, draw_a_row(chance, rng, rows=which) if again is None else again[:-1]]
        seen = np.where(found[:, None, None], expected.called, 1 - expected.called)
        share = (by_side @ joint * seen).sum(axis=(1, 2)) / expected.likeliest[
            found.astype(int), range(len(found))
        ]
        for observation, likely_share in zip(observations, share.tolist(), strict=True):
            odd[observation.recorded] = min(likely_share, odd.get(observation.recorded, 1.0))
    p_value = float((replicated >= surprise[which] - 1e-9).mean())
    strange = sorted((sign for sign, likely in odd.items() if likely < ODD), key=odd.__getitem__)
    return Fit(p_value=p_value, poor=p_value < POOR, odd=tuple(strange))


@dataclass(frozen=True, slots=True, eq=False)
class _Listed:
    """Outcomes of one group's signs, (signs, outcomes): which of the signs are abnormal.

    ``likely`` (2, outcomes, joint levels) is their chance without and with guarding; ``likeliest``
    (outcomes,) that in the knee that shows them most often.
    """

    outcomes: NDArray[np.bool_]
    likely: Floats
    likeliest: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Expected:
    """What one group's signs show in any knee, whatever was found.

    ``called`` (signs, 2, joint levels) is the chance that a sign is abnormal; ``likeliest`` (2, signs) that
    it is normal, and abnormal, where that is likeliest; ``listed`` all outcomes, None of too many.
    """

    called: Floats
    likeliest: Floats
    listed: _Listed | None


@lru_cache(maxsize=2048)
def _expected(
    model: Model, setting: Setting, group: tuple[str, ...], signs: Sequence[tuple[str, int]]
) -> _Expected:
    joint = model.table(setting, group).joint
    called = np.stack([1 - model.outcome(sign, setting, grades).point[..., 0] for sign, grades in signs])
    return _Expected(
        called,
        np.stack([(seen @ joint.T).max(axis=(1, 2)) for seen in (1 - called, called)]),
        _listed(joint, called, _every(len(signs))) if len(signs) <= MOST_LISTED else None,
    )


def _listed(joint: Floats, called: Floats, outcomes: NDArray[np.bool_]) -> _Listed:
    no, yes = (_log(chance).swapaxes(0, 1) for chance in (1 - called, called))
    likely = np.exp(no.sum(axis=1, keepdims=True) + outcomes.T @ (yes - no))
    return _Listed(outcomes, likely, (likely @ joint.T).max(axis=(0, 2)))


@cache
def _every(signs: int) -> NDArray[np.bool_]:
    """Return all outcomes of so many signs, (signs, 2^signs)."""
    return np.array(list(product([False, True], repeat=signs))).T


def _log(chance: Floats) -> Floats:
    return np.asarray(np.log(np.maximum(chance, 1e-300)))
