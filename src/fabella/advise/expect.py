"""What a step not yet taken would tell: mutual information with the state of the knee.

And where it would lead.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.infer import KneeEvidence, Model, Posterior
from fabella.infer.posterior import GroupLikelihood, group_likelihoods

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Prospect:
    """What one sign would show: ``chance`` (outcomes,), ``lesion_then`` (outcomes, lesions).

    Information in bits.
    """

    bits: float
    chance: Floats
    lesion_then: Floats


class Outlooker:
    """Looks ahead from one knee's posterior; lesions are those of the model, at any level."""

    def __init__(self, model: Model, evidence: KneeEvidence, posterior: Posterior) -> None:
        self._model = model
        self._evidence = evidence
        self._posterior = posterior
        self._likelihoods: Mapping[tuple[str, ...], GroupLikelihood] = group_likelihoods(model, evidence)
        self._known: dict[tuple[str, ...], tuple[Floats, Floats, Floats]] = {}
        self._kept = posterior.kept()
        members = model.states.members[self._kept]
        lesion = np.append(model.states.lesion_of_slot, len(model.states.lesions))
        self._holds = lesion[members]
        self.now = self._lesions(posterior.joint[:, self._kept].sum(axis=0))

    def prospect(self, sign: str, grades: int) -> Prospect:
        """Return what one sign with ``grades`` levels above normal would tell.

        Given everything found so far.
        """
        group = self._model.group_of(sign)
        weight, given, lesions = self._group(group)
        outcome = self._model.outcome(sign, self._evidence.setting.setting, grades).point
        predicted = np.matmul(given, outcome)
        chance = np.einsum("gd,gdk->k", weight, predicted)
        bits = float(_entropy(chance) - (weight * _entropy(predicted)).sum())
        then = np.einsum("gdl,gdk->kl", lesions, predicted) / np.maximum(chance, 1e-12)[:, None]
        return Prospect(bits=max(bits, 0.0), chance=chance, lesion_then=then)

    def _group(self, group: tuple[str, ...]) -> tuple[Floats, Floats, Floats]:
        """Return P(guarding, configuration), P(joint level | those and the findings), P(both, lesion)."""
        if group not in self._known:
            table = self._model.table(self._evidence.setting.acuity, group)
            used, position = np.unique(table.configuration[self._kept], return_inverse=True)
            joint = table.joint[used]
            found = (
                self._likelihoods[group].likelihood
                if group in self._likelihoods
                else np.ones((2, joint.shape[1]))
            )
            given = joint[None] * found[:, None, :]
            given /= np.maximum(given.sum(axis=2, keepdims=True), 1e-300)
            weights = self._posterior.joint[:, self._kept]
            weights = weights / weights.sum()
            count, lesions = len(used), len(self._model.states.lesions)
            weight: Floats = np.stack([np.bincount(position, row, minlength=count) for row in weights])
            both = np.zeros((2, count * (lesions + 1)))
            for column in self._holds.T:
                for side, row in enumerate(weights):
                    both[side] += np.bincount(
                        position * (lesions + 1) + column, row, minlength=count * (lesions + 1)
                    )
            self._known[group] = (weight, given, both.reshape(2, count, lesions + 1)[..., :-1])
        return self._known[group]

    def _lesions(self, p: Floats) -> Floats:
        count = len(self._model.states.lesions)
        total = np.zeros(count + 1)
        for column in self._holds.T:
            total += np.bincount(column, p, minlength=count + 1)
        return np.asarray(total[:-1] / p.sum())


def _entropy(p: Floats) -> Floats:
    """Return the entropy in bits over the last axis."""
    return np.asarray(-(p * np.log2(np.maximum(p, 1e-300))).sum(axis=-1))


def binary_information(prior: float, sensitivity: float, specificity: float) -> tuple[float, float]:
    """Return the information in bits of a yes-or-no test about one lesion.

    And the chance that it is positive.
    """
    positive = prior * sensitivity + (1 - prior) * (1 - specificity)
    rows = np.array(
        [[positive, 1 - positive], [sensitivity, 1 - sensitivity], [1 - specificity, specificity]]
    )
    entropy = _entropy(rows)
    return float(entropy[0] - prior * entropy[1] - (1 - prior) * entropy[2]), float(positive)
