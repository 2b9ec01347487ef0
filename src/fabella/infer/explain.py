"""Why a conclusion is what it is: what each finding weighs, and what that weight rests on."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from fabella.infer.evidence_of import KneeEvidence, Observation
from fabella.infer.model import Model
from fabella.infer.posterior import Posterior, group_likelihoods
from fabella.infer.result import Grounding, Reason

Floats = NDArray[np.float64]

WORTH_SAYING_BITS = 0.1
_TINY = 1e-12


def finding_weights(
    model: Model, evidence: KneeEvidence, post: Posterior, kept: NDArray[np.intp], membership: Floats
) -> Floats:
    """Return how many bits each finding adds to the log2 odds of each quantity, (findings, quantities).

    Leave-one-out over the kept states: odds with the finding against odds without it. ``membership`` (kept,
    quantities) says which states hold what.
    """
    with np.errstate(divide="ignore"):
        log_joint = np.log(post.joint[:, kept])
    full = _log_odds(log_joint, membership)
    weights = np.zeros((len(evidence.observations), membership.shape[1]))
    likelihoods = group_likelihoods(model, evidence)
    for i, observation in enumerate(evidence.observations):
        group = model.group_of(observation.sign)
        rest = [o for o in evidence.observations if o is not observation and model.group_of(o.sign) == group]
        position = likelihoods[group].table.configuration[kept]
        change = -likelihoods[group].log_by_configuration()[:, position]
        if rest:
            left = group_likelihoods(model, evidence.having(rest))[group]
            change = change + left.log_by_configuration()[:, position]
        weights[i] = (full - _log_odds(log_joint + change, membership)) / np.log(2)
    return weights


def _log_odds(log_joint: Floats, membership: Floats) -> Floats:
    p = np.exp(log_joint - log_joint.max()).sum(axis=0)
    p /= p.sum()
    share = np.clip(p @ membership, _TINY, 1 - _TINY)
    return np.log(share) - np.log1p(-share)


class Grounds:
    """Says what the link between a sign and a lesion rests on: half the sign's accuracy, half the lesion's reach."""

    def __init__(self, model: Model, evidence: KneeEvidence) -> None:
        self._signs = model.signs(evidence.setting.setting)
        network = model.network(evidence.setting.acuity)
        self._reach: Mapping[str, dict[str, tuple[str, str]]] = {
            name: {
                lesion: (cause.provenance.value, cause.source)
                for cause in manifestation.causes
                for lesion, _ in cause.parts
            }
            for name, manifestation in network.manifestations.items()
        }

    def of(self, sign: str, lesion: str) -> tuple[Grounding, tuple[str, ...]]:
        """Return shares of published, derived and judgement, and the sources, for one sign and lesion."""
        used = self._signs[sign]
        rests = [used.provenance]
        sources = [used.source]
        for name, _ in used.indicator.manifestations:
            if lesion in self._reach[name]:
                provenance, source = self._reach[name][lesion]
                rests.append(provenance)
                sources.append(source)
                break
        count = len(rests)
        return (
            Grounding(
                published=rests.count("published") / count,
                derived=rests.count("derived") / count,
                judgement=rests.count("judgement") / count,
            ),
            tuple(dict.fromkeys(sources)),
        )


def reasons(
    grounds: Grounds, observations: tuple[Observation, ...], weights: Floats, lesion: str
) -> tuple[tuple[Reason, ...], tuple[Reason, ...], Grounding]:
    """Return what speaks for and against a lesion, the strongest first, and what all of it rests on."""
    said: list[Reason] = []
    total = np.zeros(3)
    for observation, weight in zip(observations, weights, strict=True):
        grounding, sources = grounds.of(observation.sign, lesion)
        total += abs(weight) * np.array([grounding.published, grounding.derived, grounding.judgement])
        if abs(weight) >= WORTH_SAYING_BITS:
            said.append(
                Reason(
                    sign=observation.sign,
                    abnormal=observation.abnormal,
                    weight_bits=float(weight),
                    sources=sources,
                    grounding=grounding,
                )
            )
    share = total / total.sum() if total.sum() > 0 else total
    said.sort(key=lambda reason: -abs(reason.weight_bits))
    return (
        tuple(reason for reason in said if reason.weight_bits > 0),
        tuple(reason for reason in said if reason.weight_bits < 0),
        Grounding(published=float(share[0]), derived=float(share[1]), judgement=float(share[2])),
    )
