"""Why a conclusion is what it is: what each finding weighs, and what that weight rests on."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fabella.infer.evidence_of import KneeEvidence, Observation
from fabella.infer.model import Model
from fabella.infer.posterior import GroupLikelihood, Posterior, group_likelihoods, sign_likelihood
from fabella.infer.result import Grounding, Reason

Floats = NDArray[np.float64]

WORTH_SAYING_BITS = 0.1
EQUAL_DECIMALS = 9
"""Numbers equal to so many decimals keep the order of the tables: no machine's last bit orders them."""
KINDS = ("published", "derived", "judgement")
_TINY = 1e-12
_FAINT = 0.05
_AGREEING = 0.95


def finding_weights(model: Model, evidence: KneeEvidence, post: Posterior) -> Floats:
    """Return how many bits each finding adds to the log2 odds of each quantity, (findings, quantities).

    All findings of one physical cause (one group of manifestations) are left out together, over all states:
    that is what the cause weighs. Left out one by one, two signs of the same thing would each seem to weigh
    nothing. The weight is shared among them in proportion to what each would say as the only one.
    """
    observations = evidence.observations
    weights = np.zeros((len(observations), len(model.quantities)))
    of_group: dict[tuple[str, ...], list[int]] = {}
    for i, observation in enumerate(observations):
        of_group.setdefault(model.group_of(observation.sign), []).append(i)
    changes: list[tuple[NDArray[np.intp], Floats]] = []
    for group, found in group_likelihoods(model, evidence).items():
        own, position, likelihood = of_group[group], found.table.configuration, found.by_configuration
        changes.append((position, 1 / likelihood))
        if len(own) > 1:
            singly = (
                GroupLikelihood(found.table, sign_likelihood(model, evidence, observations[i])) for i in own
            )
            changes += [(position, each.by_configuration / likelihood) for each in singly]
    full, *left = _log_odds(model, post.joint, changes)
    for own in of_group.values():
        before = left.pop(0)
        after = [left.pop(0) for _ in own] if len(own) > 1 else []
        weights[own] = _shared(full - before, np.array(after) - before) if after else full - before
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

    A change multiplies by a factor (2, configurations), given the configuration of each state.
    """
    weight = np.empty((1 + len(changes), joint.shape[1]))
    weight[0] = joint.sum(axis=0)
    for row, (position, (calm, guarded)) in zip(weight[1:], changes, strict=True):
        calm.take(position, out=row, mode="clip")  # which spares a copy: positions are never beyond the end
        if np.array_equal(calm, guarded):  # guarding makes no difference to these findings
            np.multiply(row, weight[0], out=row)
        else:
            np.add(row * joint[0], guarded.take(position) * joint[1], out=row)
    highest = weight.max(axis=1, keepdims=True)
    share = model.totals(weight) / highest
    rest = weight.sum(axis=1, keepdims=True) / highest - share
    return np.asarray(np.log(np.maximum(share, _TINY)) - np.log(np.maximum(rest, _TINY)))


class Grounds:
    """Says what the link between a sign and a lesion rests on.

    Half is the sign's accuracy, half the lesion's reach.
    """

    def __init__(self, model: Model, evidence: KneeEvidence) -> None:
        setting, acuity = evidence.setting.setting, evidence.setting.acuity
        self._signs = model.signs(setting)
        self._reach = model.network(acuity).reach
        self._known = _already_known(model, setting, acuity)

    def of(self, sign: str, lesion: str) -> tuple[Grounding, tuple[str, ...]]:
        """Return shares of published, derived and judgement, and the sources, for one sign and lesion."""
        key = (sign, lesion)
        if key not in self._known:
            used = self._signs[sign]
            links = [
                self._reach[name, lesion]
                for name, _ in used.indicator.manifestations
                if (name, lesion) in self._reach
            ]
            rests = [(used.provenance, used.source), *links[:1]]
            kinds = [provenance for provenance, _ in rests]
            grounding = Grounding(**{kind: kinds.count(kind) / len(kinds) for kind in KINDS})
            self._known[key] = (grounding, tuple(dict.fromkeys(source for _, source in rests)))
        return self._known[key]


@lru_cache(maxsize=64)
def _already_known(
    model: Model, setting: str | None, acuity: str | None
) -> dict[tuple[str, str], tuple[Grounding, tuple[str, ...]]]:
    """Return what `Grounds` found out about the links of one model in these circumstances; to be added to."""
    del model, setting, acuity
    return {}


def reasons(
    grounds: Grounds, observations: tuple[Observation, ...], weights: Floats, lesion: str
) -> tuple[tuple[Reason, ...], tuple[Reason, ...], Grounding]:
    """Return what speaks for and against a lesion, the strongest first, and what all of it rests on."""
    size = np.abs(weights)
    strongest_first = np.argsort(-np.round(size, EQUAL_DECIMALS), kind="stable")[
        : np.count_nonzero(size >= WORTH_SAYING_BITS)
    ]
    said: list[Reason] = []
    published = derived = judgement = 0.0
    for i, weight in zip(strongest_first.tolist(), weights[strongest_first].tolist(), strict=True):
        observation = observations[i]
        grounding, sources = grounds.of(observation.sign, lesion)
        published += abs(weight) * grounding.published
        derived += abs(weight) * grounding.derived
        judgement += abs(weight) * grounding.judgement
        said.append(
            Reason(
                sign=observation.sign,
                abnormal=observation.abnormal,
                weight_bits=weight,
                sources=sources,
                grounding=grounding,
            )
        )
    whole = published + derived + judgement or 1.0
    return (
        tuple(reason for reason in said if reason.weight_bits > 0),
        tuple(reason for reason in said if reason.weight_bits < 0),
        Grounding(published=published / whole, derived=derived / whole, judgement=judgement / whole),
    )
