"""What a step not yet taken would tell: mutual information with the state of the knee.

And where it would lead.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.infer import ANY_LEVEL, KneeEvidence, Model, Posterior, told
from fabella.infer.network import told_apart
from fabella.infer.posterior import GroupLikelihood, group_likelihoods
from fabella.infer.simulate import draw_a_row

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Prospect:
    """What one sign would show.

    ``bits``: information about the state of the knee; ``chance`` (outcomes,); ``predicted`` (2,
    configurations of its group, outcomes): the same without and with guarding.
    """

    bits: float
    chance: Floats
    group: tuple[str, ...]
    predicted: Floats


class Outlooker:
    """Looks ahead from one knee's posterior; lesions are those of the model, at any level.

    ``now`` (lesions,) is how likely each is, as the conclusion tells it. Steps are tried out on the most
    probable states (`Posterior.kept`); what the others add to a lesion stays as it is, whatever a step shows,
    so that every lesion starts from the number that is told and moves from there.
    """

    def __init__(self, model: Model, evidence: KneeEvidence, posterior: Posterior) -> None:
        self._model = model
        self._evidence = evidence
        self._likelihoods: Mapping[tuple[str, ...], GroupLikelihood] = group_likelihoods(model, evidence)
        self._expected: dict[tuple[str, ...], tuple[Floats, Floats, Floats]] = {}
        self._levels: dict[tuple[str, ...], tuple[Floats, NDArray[np.intp]]] = {}
        self._lesions_in: dict[tuple[str, ...], Floats] = {}
        self._kept = posterior.kept()
        weights = posterior.joint[:, self._kept]
        self._weights = weights / weights.sum()
        members = model.states.members[self._kept]
        lesion = np.append(model.states.lesion_of_slot, len(model.states.lesions))
        self._holds = lesion[members]
        chances = model.chances(posterior.states)
        whole = [chances[name, ANY_LEVEL] for name in model.states.lesions]
        self.now = np.array([told(chance) for chance in whole])
        kept = posterior.states[self._kept]
        self._share = float(kept.sum())
        self._left_out = np.maximum(np.array(whole) - self._share * self._lesions(kept), 0.0)

    def prospect(self, sign: str, grades: int) -> Prospect:
        """Return what one sign with ``grades`` levels above normal would tell, given everything found so far.

        The information is about the lesions; what it would tell about guarding does not count.
        """
        group = self._model.group_of(sign)
        weight, given, uncertain = self._expect(group)
        outcome = self._model.outcome(sign, self._evidence.setting, grades).point
        predicted = np.matmul(given, outcome)
        both = np.einsum("gd,gdk->dk", weight, predicted)
        chance = both.sum(axis=0)
        bits = float(uncertain + _entropy(chance) - _entropy(both.ravel()))
        return Prospect(bits=max(bits, 0.0), chance=chance, group=group, predicted=predicted)

    def lesions_then(self, prospect: Prospect) -> Floats:
        """Return the probability of each lesion after each outcome of a sign (outcomes, lesions)."""
        lesions = self._lesions_by_configuration(prospect.group)
        both = np.einsum("gdl,gdk->kl", lesions, prospect.predicted)
        return self._whole(both / np.maximum(prospect.chance, 1e-12)[:, None])

    def after_trials(self, signs: Mapping[str, int], trials: int, rng: np.random.Generator) -> Floats:
        """Return the probability of each lesion after signs were examined together, (trials, lesions).

        Knees are drawn from the posterior, and from each knee what it shows of all the signs (which have so
        many levels above normal); it is then concluded anew. Signs of one physical cause agree, as in any
        knee.
        """
        guarding, state = np.divmod(
            rng.choice(self._weights.size, size=trials, p=self._weights.ravel()), self._weights.shape[1]
        )
        log_p = np.zeros((*self._weights.shape, trials))
        names = tuple(signs)
        for group, own in self._model.by_group(names).items():
            given, position = self._given(group)
            level = draw_a_row(given[guarding, position[state]], rng)
            seen = np.ones((2, given.shape[2], trials))
            for sign in (names[i] for i in own):
                outcome = self._model.outcome(sign, self._evidence.setting, signs[sign]).point
                shown = draw_a_row(outcome[guarding, level], rng)
                seen *= outcome[:, :, shown]
            log_p += np.log(np.maximum(given @ seen, 1e-300))[:, position]
        p = self._weights[:, :, None] * np.exp(log_p - log_p.max(axis=(0, 1)))
        return self._whole(np.stack([self._lesions(each) for each in p.sum(axis=0).T]))

    def _expect(self, group: tuple[str, ...]) -> tuple[Floats, Floats, Floats]:
        """Return P(guarding, configuration), P(joint level | those and the findings).

        And the entropy of the configuration in bits.
        """
        if group not in self._expected:
            given, position = self._given(group)
            weight = np.array([np.bincount(position, row) for row in self._weights], dtype=np.float64)
            self._expected[group] = weight, given, _entropy(weight.sum(axis=0))
        return self._expected[group]

    def _given(self, group: tuple[str, ...]) -> tuple[Floats, NDArray[np.intp]]:
        """Return P(joint level | guarding, configuration, findings), and each state's configuration."""
        if group not in self._levels:
            table = self._model.table(self._evidence.setting, group)
            used, position = told_apart(table.configuration[self._kept])
            joint = table.joint[used]
            found = (
                self._likelihoods[group].likelihood
                if group in self._likelihoods
                else np.ones((2, joint.shape[1]))
            )
            given = joint[None] * found[:, None, :]
            given /= np.maximum(given.sum(axis=2, keepdims=True), 1e-300)
            self._levels[group] = given, position
        return self._levels[group]

    def _lesions_by_configuration(self, group: tuple[str, ...]) -> Floats:
        """Return P(guarding, configuration, lesion)."""
        if group not in self._lesions_in:
            table = self._model.table(self._evidence.setting, group)
            used, position = told_apart(table.configuration[self._kept])
            lesions = len(self._model.states.lesions) + 1
            both = np.zeros((2, len(used) * lesions))
            for column in self._holds.T:
                for side, row in enumerate(self._weights):
                    both[side] += np.bincount(position * lesions + column, row, minlength=both.shape[1])
            self._lesions_in[group] = both.reshape(2, len(used), lesions)[..., :-1]
        return self._lesions_in[group]

    def _whole(self, lesions: Floats) -> Floats:
        """Return the probability of lesions in all states from that in those kept, (…, lesions)."""
        return np.asarray(np.minimum(self._share * lesions + self._left_out, 1.0))

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
