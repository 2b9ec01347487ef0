"""What each finding, and each image, weighs in a conclusion."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fabella.infer.evidence_of import KneeEvidence
from fabella.infer.model import Model
from fabella.infer.posterior import GroupLikelihood, Posterior, group_likelihoods, sign_likelihood

Floats = NDArray[np.float64]

_TINY = 1e-12
_FAINT = 0.05
_AGREEING = 0.95


def finding_weights(model: Model, evidence: KneeEvidence, post: Posterior) -> Floats:
    """Return the bits that each finding, then each image, adds to the log2 odds, (those, quantities).

    All findings of one physical cause (one group of manifestations) are left out together, over all states:
    that is what the cause weighs. Left out one by one, two signs of the same thing would each seem to weigh
    nothing. The weight is shared among them in proportion to what each would say as the only one.
    """
    observations = evidence.observations
    weights = np.zeros((len(observations) + len(evidence.images), len(model.quantities)))
    of_group = model.by_group(observation.sign for observation in observations)
    changes: list[tuple[NDArray[np.intp], Floats]] = []
    for group, found in group_likelihoods(model, evidence).items():
        own, position, likelihood = of_group[group], found.table.configuration, found.by_configuration
        changes.append((position, 1 / likelihood))
        if len(own) > 1:
            singly = (
                GroupLikelihood(found.table, sign_likelihood(model, evidence.setting, observations[i]))
                for i in own
            )
            changes += [(position, each.by_configuration / likelihood) for each in singly]
    changes += [
        (np.arange(len(model.states)), np.exp(-model.images.log_likelihood([read]))[None])
        for read in evidence.images
    ]
    full, *left = _log_odds(model, post.joint, changes)
    for own in of_group.values():
        before = left.pop(0)
        after = [left.pop(0) for _ in own] if len(own) > 1 else []
        weights[own] = _shared(full - before, np.array(after) - before) if after else full - before
    for row, without in enumerate(left, start=len(observations)):
        weights[row] = full - without
    return np.asarray(weights / np.log(2))


def _shared(together: Floats, alone: Floats) -> Floats:
    """Share what findings weigh together (quantities,) by what each says alone (findings, quantities).

    Findings that agree share in proportion, or evenly where together they say the opposite. Where they
    contradict each other none is made to say more than it says alone.
    """
    total = alone.sum(axis=0)
    agree = np.abs(total) > np.abs(alone).sum(axis=0) * _AGREEING
    same = (total * together > 0) & (np.abs(total) > _FAINT)
    factor = together / np.where(same, total, 1.0)
    proportional = alone * np.where(same, np.where(agree, factor, np.minimum(factor, 1.0)), 1.0)
    return np.where(agree & ~same, together / len(alone), proportional)


def _log_odds(model: Model, joint: Floats, changes: Sequence[tuple[NDArray[np.intp], Floats]]) -> Floats:
    """Return the log odds (1 + changes, quantities) under ``joint`` (2, states), and as each change makes it.

    A change multiplies by a factor, without and with guarding or alike, (2 or 1, configurations), given the
    configuration of each state.
    """
    weight = np.empty((1 + len(changes), joint.shape[1]))
    weight[0] = joint.sum(axis=0)
    for row, (position, (calm, *guarded)) in zip(weight[1:], changes, strict=True):
        calm.take(position, out=row, mode="clip")  # which spares a copy: positions are never beyond the end
        np.multiply(row, joint[0] if guarded else weight[0], out=row)
        for factor in guarded:
            np.add(row, factor.take(position) * joint[1], out=row)
    highest = weight.max(axis=1, keepdims=True)
    share = model.totals(weight) / highest
    rest = weight.sum(axis=1, keepdims=True) / highest - share
    return np.asarray(np.log(np.maximum(share, _TINY)) - np.log(np.maximum(rest, _TINY)))
