"""The network of a knee written out node by node, as a general library takes it.

Nothing of the program's own inference is in it but the numbers: lesions are nodes; one node "allowed" carries
the prior of their combinations; manifestations are noisy-MAX tables over all their lesions; signs hang below
them and below guarding.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from fabella.anatomy import Lesions
from fabella.evidence.facts import Cause, Knowledge
from fabella.infer import KneeEvidence, Model
from fabella.infer.evidence_of import Observation
from fabella.infer.network import GUARDING, Manifestation

Floats = NDArray[np.float64]

ALLOWED = "allowed"
STATE = "state"


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """One variable: ``table`` holds P(itself | parents), an axis for each parent in order, its own last."""

    name: str
    parents: tuple[str, ...]
    table: Floats


def few_lesions(lesions: Lesions, knowledge: Knowledge, kept: Sequence[str]) -> tuple[Lesions, Knowledge]:
    """Return some of the lesions, excluding only each other, and what the tables say of them alone.

    Published company is left out: the rates of few lesions have no room for that of many.
    """
    some = {
        name: replace(lesions[name], excludes=tuple(each for each in lesions[name].excludes if each in kept))
        for name in kept
    }
    return Lesions(MappingProxyType(some), MappingProxyType({name: name for name in kept})), replace(
        knowledge,
        causes=_causes_among(knowledge.causes, kept),
        at_ages=_causes_among(knowledge.at_ages, kept),
        accuracy=tuple(each for each in knowledge.accuracy if all(lesion in kept for lesion in each.targets)),
        company=(),
        images=tuple(each for each in knowledge.images if each.lesion in kept),
    )


def _causes_among(causes: Sequence[Cause], kept: Sequence[str]) -> tuple[Cause, ...]:
    return tuple(
        replace(each, without=tuple(lesion for lesion in each.without if lesion in kept))
        for each in causes
        if all(lesion in kept for lesion, _ in each.parts)
    )


def by_lesions(model: Model, evidence: KneeEvidence) -> tuple[Node, ...]:
    """Return the network with a node for every lesion, parents first."""
    levels = {name: [level.id for level in model.lesions[name].levels] for name in model.states.lesions}
    shape = tuple(len(each) + 1 for each in levels.values())
    nodes = [Node(name, (), np.full(size, 1 / size)) for name, size in zip(levels, shape, strict=True)]
    prior = model.prior(evidence.setting).probability
    chance = np.zeros(shape)
    for state, probability in enumerate(prior):
        held = dict(model.states.names(state))
        at = tuple(each.index(held[name]) + 1 if name in held else 0 for name, each in levels.items())
        chance[at] = probability / prior.max()
    nodes.append(Node(ALLOWED, tuple(levels), np.stack([1 - chance, chance], axis=-1)))
    for name in _manifestations(model, evidence):
        nodes.append(_noisy_max(model.manifestation(evidence.setting, name), levels))
    nodes += _signs(model, evidence)
    return tuple(nodes)


def by_states(model: Model, evidence: KneeEvidence) -> tuple[Node, ...]:
    """Return the same with our own list of states as one node in place of the lesions."""
    prior = model.prior(evidence.setting).probability
    nodes = [Node(STATE, (), prior)]
    for name in _manifestations(model, evidence):
        compiled = model.manifestation(evidence.setting, name)
        nodes.append(Node(name, (STATE,), compiled.distribution()[compiled.configuration]))
    return (*nodes, *_signs(model, evidence))


def label(sign: str) -> str:
    """Return the node name of a sign, apart from manifestations of the same name."""
    return f"sign {sign}"


def _manifestations(model: Model, evidence: KneeEvidence) -> Iterator[str]:
    """Yield guarding and what the signs show, each once."""
    shown = (name for each in evidence.observations for name, _ in _shown(model, each))
    yield from dict.fromkeys((GUARDING, *shown))


def _shown(model: Model, observation: Observation) -> tuple[tuple[str, float], ...]:
    return model.knowledge.indicators[observation.sign].manifestations


def _noisy_max(manifestation: Manifestation, levels: dict[str, list[str]]) -> Node:
    """Return P(M | lesions): each cause that is present, and not silenced, fails on its own at each level."""
    named = {lesion for cause in manifestation.causes for lesion in cause.lesions}
    parents = tuple(name for name in levels if name in named)
    shape = tuple(len(levels[name]) + 1 for name in parents)
    value = dict(zip(parents, np.indices(shape, sparse=True), strict=True))
    below = np.ones((*shape, manifestation.levels))
    for cause, chance in zip(manifestation.causes, manifestation.chance, strict=True):
        present = np.ones(shape, dtype=bool)
        for lesion, level in cause.parts:
            present = present & (
                value[lesion] == levels[lesion].index(level) + 1 if level else value[lesion] > 0
            )
        for lesion in cause.without:
            present = present & (value[lesion] == 0)
        below *= np.where(present[..., None], 1 - chance, 1.0)
    edges = np.concatenate([np.zeros((*shape, 1)), below, np.ones((*shape, 1))], axis=-1)
    return Node(manifestation.name, parents, np.diff(edges, axis=-1))


def _signs(model: Model, evidence: KneeEvidence) -> Iterator[Node]:
    for observation in evidence.observations:
        group = model.group_of(observation.sign)
        own = [name for name, _ in _shown(model, observation)]
        outcome = model.outcome(observation.sign, evidence.setting, observation.grades).point
        by_level = outcome.reshape(2, *(model.knowledge.manifestations[name] + 1 for name in group), -1)
        of_own = tuple(slice(None) if name in own else 0 for name in group)
        parents = (GUARDING, *(name for name in group if name in own))
        yield Node(label(observation.sign), parents, by_level[(slice(None), *of_own)])
