"""What steps not yet taken would tell: mutual information with the state of the knee.

And where they would lead.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fabella.infer import ANY_LEVEL, KneeEvidence, Model, Posterior, Setting, told
from fabella.infer.posterior import group_likelihoods
from fabella.infer.simulate import draw_a_row

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Prospect:
    """What one sign would show.

    ``bits``: information about the state of the knee; ``chance`` (outcomes,); ``joint`` (outcomes, states):
    the same together with each state that is looked at.
    """

    bits: float
    chance: Floats
    joint: Floats


class Outlooker:
    """Looks ahead from one knee's posterior; lesions are those of the model, at any level.

    ``now`` (lesions,) is how likely each is, as the conclusion tells it. Steps are tried out on the most
    probable states (`Posterior.kept`); what the others add to a lesion stays as it is, whatever a step shows,
    so that every lesion starts from the number that is told and moves from there. ``chances`` are those of
    every lesion and level, before rounding.
    """

    def __init__(self, model: Model, evidence: KneeEvidence, posterior: Posterior) -> None:
        self._model = model
        self._evidence = evidence
        self._circumstances = model.circumstances(evidence.setting)
        self._likelihoods = group_likelihoods(model, evidence)
        self._looked_at: dict[tuple[str, ...], tuple[Floats, NDArray[np.intp]]] = {}
        self._kept = posterior.kept()
        weights = posterior.joint[:, self._kept]
        self._share = float(weights.sum())
        self._weights = weights / self._share
        self._either = self._weights.sum(axis=0)
        self._holds = model.membership[self._kept, : len(model.states.lesions)]
        self.chances = model.chances(posterior.states)
        whole = np.array([self.chances[name, ANY_LEVEL] for name in model.states.lesions])
        self.now = np.array([told(chance) for chance in whole.tolist()])
        self._left_out = np.maximum(whole - self._share * (self._either @ self._holds), 0.0)

    def prospects(self, signs: Mapping[str, int]) -> Mapping[str, Prospect]:
        """Return what each sign by itself would tell, given everything found so far.

        ``signs``: the number of levels above normal of each. The information is about the lesions; what a
        sign would tell about guarding does not count.
        """
        names = tuple(signs)
        joint = np.empty((sum(signs.values()) + len(signs), len(self._kept)))
        told_of: list[str] = []
        starts: list[int] = []
        apart: dict[str, float] = {}
        end = 0
        for group, own in self._model.by_group(names).items():
            here = [names[i] for i in own]
            outcomes, within = _outcomes(self._model, self._circumstances, tuple((i, signs[i]) for i in here))
            start, end = end, end + outcomes.shape[2]
            self._fill(joint[start:end], group, outcomes)
            if group in _guarded(self._model):
                before, *alike = self._alike(group, np.vstack([self._either, joint[start:end]]))
                apart |= zip(here, _information(before, np.array(alike), within).tolist(), strict=True)
            told_of += here
            starts += [start + each for each in within]
        bits = dict(zip(told_of, _information(self._either, joint, starts).tolist(), strict=True)) | apart
        chance = joint.sum(axis=1)
        return {
            name: Prospect(max(bits[name], 0.0), chance[first:last], joint[first:last])
            for name, (first, last) in zip(told_of, pairwise([*starts, end]), strict=True)
        }

    def lesions_then(self, prospects: Sequence[Prospect]) -> Sequence[Floats]:
        """Return the probability of each lesion after each outcome of each sign, (outcomes, lesions)."""
        if not prospects:
            return ()
        lesions = np.concatenate([each.joint for each in prospects]) @ self._holds
        chance = np.concatenate([each.chance for each in prospects])
        edges = np.cumsum([len(each.chance) for each in prospects])
        return np.split(self._whole(lesions / np.maximum(chance, 1e-12)[:, None]), edges[:-1])

    def after_trials(self, signs: Mapping[str, int], trials: int, rng: np.random.Generator) -> Floats:
        """Return the probability of each lesion after signs were examined together, (trials, lesions).

        Knees are drawn from the posterior, and from each knee what it shows of all the signs (which have so
        many levels above normal); it is then concluded anew. Signs of one physical cause agree, as in any
        knee.
        """
        guarding, state = np.divmod(
            rng.choice(self._weights.size, size=trials, p=self._weights.ravel()), self._weights.shape[1]
        )
        p = np.repeat(self._weights[:, :, None], trials, axis=2)
        alike = np.ones(p.shape[1:])  # what the signs that guarding does not touch make of both sides
        names = tuple(signs)
        for group, own in self._model.by_group(names).items():
            given, configuration = self._given(group)
            level = draw_a_row(given[guarding % len(given), state], rng)
            sides = 2 if group in _guarded(self._model) else 1
            seen = np.ones((sides, given.shape[2], trials))
            for sign in (names[i] for i in own):
                outcome = self._model.outcome(sign, self._evidence.setting, signs[sign]).point
                shown = draw_a_row(outcome[guarding, level], rng)
                seen *= outcome[:sides, :, shown]
            _, first, position = np.unique(configuration, return_index=True, return_inverse=True)
            likely = given[:, first] @ seen
            for total, one in zip((alike,) if sides == 1 else p, likely, strict=True):
                np.multiply(total, one.take(position, axis=0), out=total)
        then = p.sum(axis=0) * alike
        return self._whole((then / then.sum(axis=0)).T @ self._holds)

    def _fill(self, joint: Floats, group: tuple[str, ...], outcomes: Floats) -> None:
        """Put in P(outcome, state) of signs of one group from P(outcome | guarding, joint level)."""
        given, _ = self._given(group)
        if group in _guarded(self._model):
            shown = np.matmul(outcomes.swapaxes(1, 2), given.swapaxes(1, 2))
            np.sum(shown * self._weights[:, None], axis=0, out=joint)
        else:  # both sides are the same
            np.matmul(outcomes[0].T, given[0].T, out=joint)
            np.multiply(joint, self._either, out=joint)

    def _given(self, group: tuple[str, ...]) -> tuple[Floats, NDArray[np.intp]]:
        """Return P(joint level | guarding, state, findings), and the configuration of each state.

        Once where guarding makes no difference.
        """
        if group not in self._looked_at:
            table = self._model.table(self._circumstances, group)
            configuration = table.configuration.take(self._kept)
            given = table.joint.take(configuration, axis=0)[None]
            if group in self._likelihoods:
                sides = 2 if group in _guarded(self._model) else 1
                given = given * self._likelihoods[group].likelihood[:sides, None]
                given /= np.maximum(given.sum(axis=2, keepdims=True), 1e-300)
            self._looked_at[group] = given, configuration
        return self._looked_at[group]

    def _alike(self, group: tuple[str, ...], joint: Floats) -> Floats:
        """Add up (…, states) over the states that a group does not tell apart, (…, configurations)."""
        _, configuration = self._given(group)
        order = configuration.argsort()
        return np.add.reduceat(joint[:, order], np.unique(configuration[order], return_index=True)[1], axis=1)

    def _whole(self, lesions: Floats) -> Floats:
        """Return the probability of lesions in all states from that in those kept, (…, lesions)."""
        return np.asarray(np.minimum(self._share * lesions + self._left_out, 1.0))


@lru_cache(maxsize=4)
def _guarded(model: Model) -> frozenset[tuple[str, ...]]:
    """Return the groups with a sign that guarding weakens."""
    signs = model.knowledge.indicators.items()
    return frozenset(model.group_of(name) for name, indicator in signs if indicator.guard_loss > 0)


@lru_cache(maxsize=512)
def _outcomes(
    model: Model, setting: Setting, signs: tuple[tuple[str, int], ...]
) -> tuple[Floats, tuple[int, ...]]:
    """Return the chances of each report of signs of one group, (2, joint levels, outcomes of all of them).

    And where the outcomes of each sign, which has so many levels above normal, begin.
    """
    points = [model.outcome(sign, setting, grades).point for sign, grades in signs]
    starts = np.cumsum([0, *(each.shape[2] for each in points[:-1])])
    return np.concatenate(points, axis=2), tuple(starts.tolist())


def _information(before: Floats, joint: Floats, starts: Sequence[int]) -> Floats:
    """Return the mutual information in bits between each of several signs and what they tell apart.

    ``before`` (things,) is how probable those are, ``joint`` (outcomes, things) together with each outcome of
    one sign after the other, whose outcomes begin at ``starts``.
    """
    if not starts:
        return np.zeros(0)
    by_outcome = _spread(joint.sum(axis=1)) - _spread(joint).sum(axis=1)
    return np.asarray(_spread(before).sum() + np.add.reduceat(by_outcome, starts))


def _spread(p: Floats) -> Floats:
    """Return what each chance adds to an entropy, in bits."""
    spread = np.maximum(p, 1e-300)
    np.log2(spread, out=spread)
    spread *= -p
    return spread


def binary_information(prior: float, sensitivity: float, specificity: float) -> tuple[float, float]:
    """Return the information in bits of a yes-or-no test about one lesion.

    And the chance that it is positive.
    """
    positive = prior * sensitivity + (1 - prior) * (1 - specificity)
    rows = np.array(
        [[positive, 1 - positive], [sensitivity, 1 - sensitivity], [1 - specificity, specificity]]
    )
    entropy = _spread(rows).sum(axis=1)
    return float(entropy[0] - prior * entropy[1] - (1 - prior) * entropy[2]), float(positive)
