"""Why a conclusion is what it is: what each finding weighs, and what that weight rests on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fabella.infer.evidence_of import KneeEvidence, Observation
from fabella.infer.model import Model
from fabella.infer.posterior import Posterior, group_likelihoods
from fabella.infer.result import Grounding, Reason

Floats = NDArray[np.float64]

WORTH_SAYING_BITS = 0.1
KINDS = ("published", "derived", "judgement")
_TINY = 1e-12


def finding_weights(model: Model, evidence: KneeEvidence, post: Posterior) -> Floats:
    """Return how many bits each finding adds to the log2 odds of each quantity, (findings, quantities).

    Leave-one-out over all states: odds with the finding against odds without it.
    """
    observations = evidence.observations
    if not observations:
        return np.zeros((0, len(model.quantities)))
    with np.errstate(divide="ignore"):
        log_joint = np.log(post.joint)
    likelihoods = group_likelihoods(model, evidence)
    without = np.empty((len(observations), post.joint.shape[1]))
    for i, observation in enumerate(observations):
        group = model.group_of(observation.sign)
        rest = [o for o in observations if o is not observation and model.group_of(o.sign) == group]
        left = -likelihoods[group].log_by_configuration()
        if rest:
            left = left + group_likelihoods(model, evidence.having(rest))[group].log_by_configuration()
        log_p = log_joint + left.take(likelihoods[group].table.configuration, axis=1)
        without[i] = np.exp(log_p - log_p.max()).sum(axis=0)
    change = _log_odds(post.states[None, :], model.membership) - _log_odds(without, model.membership)
    return np.asarray(change / np.log(2))


def _log_odds(weight: Floats, membership: Floats) -> Floats:
    """Return the log odds (rows, quantities) under unnormalised weights of the states (rows, states)."""
    share = weight @ membership
    rest = weight.sum(axis=1, keepdims=True) - share
    return np.asarray(np.log(np.maximum(share, _TINY)) - np.log(np.maximum(rest, _TINY)))


class Grounds:
    """Says what the link between a sign and a lesion rests on.

    Half is the sign's accuracy, half the lesion's reach.
    """

    def __init__(self, model: Model, evidence: KneeEvidence) -> None:
        self._signs = model.signs(evidence.setting.setting)
        self._reach = model.network(evidence.setting.acuity).reach
        self._known: dict[tuple[str, str], tuple[Grounding, tuple[str, ...]]] = {}

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


def reasons(
    grounds: Grounds, observations: tuple[Observation, ...], weights: Floats, lesion: str
) -> tuple[tuple[Reason, ...], tuple[Reason, ...], Grounding]:
    """Return what speaks for and against a lesion, the strongest first, and what all of it rests on."""
    said: list[Reason] = []
    total = dict.fromkeys(KINDS, 0.0)
    for i in np.flatnonzero(np.abs(weights) >= WORTH_SAYING_BITS):
        observation, weight = observations[i], float(weights[i])
        grounding, sources = grounds.of(observation.sign, lesion)
        for kind in KINDS:
            total[kind] += abs(weight) * float(getattr(grounding, kind))
        said.append(
            Reason(
                sign=observation.sign,
                abnormal=observation.abnormal,
                weight_bits=weight,
                sources=sources,
                grounding=grounding,
            )
        )
    whole = sum(total.values()) or 1.0
    said.sort(key=lambda reason: -abs(reason.weight_bits))
    return (
        tuple(reason for reason in said if reason.weight_bits > 0),
        tuple(reason for reason in said if reason.weight_bits < 0),
        Grounding(**{kind: value / whole for kind, value in total.items()}),
    )
