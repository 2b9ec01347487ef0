"""From lesions to manifestations: noisy-MAX with conjunctions, over the states of a knee.

A *manifestation* is one physical thing that lesions bring about (the tibia slides forward, the joint is full) and
that several signs may show. Signs speak only through manifestations, so that two signs of the same thing are not
counted twice.

``P(M >= k | x) = 1 - (1 - leak_k) * product over causes c of (1 - lambda_kc [c active in x])``

States that switch on the same causes of a manifestation are alike for it: they share a *configuration*.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.knowledge import Cause, Knowledge
from fabella.infer.states import States

Floats = NDArray[np.float64]

GUARDING = "guarding"
"""The manifestation that weakens every stress test."""
_KEYS_SEED = 20260101  # any odd-looking keys will do: they only tell configurations apart


@dataclass(frozen=True, slots=True, eq=False)
class Manifestation:
    """One manifestation compiled over all states.

    ``configuration``: (states,) which configuration each state is in; ``active``: (configurations, causes) which
    causes it switches on, the leak always; ``chance``: (causes, levels) lambda; ``causes`` in the same order.
    """

    name: str
    causes: tuple[Cause, ...]
    configuration: NDArray[np.intp]
    active: NDArray[np.bool_]
    chance: Floats

    @property
    def levels(self) -> int:
        """Return the number of levels above "nothing to find"."""
        return self.chance.shape[1]

    def distribution(self, chance: Floats | None = None, used: NDArray[np.intp] | None = None) -> Floats:
        """Return P(M = 0..levels | configuration), shape (..., configurations, levels + 1).

        ``chance`` (..., causes, levels) replaces the point values; ``used`` picks some of the configurations.
        """
        quiet = np.log1p(-np.minimum(self.chance if chance is None else chance, 1 - 1e-12))
        active = (self.active if used is None else self.active[used]).astype(float)
        at_least = -np.expm1(active @ quiet)
        ones = np.ones((*at_least.shape[:-1], 1))
        survivor = np.concatenate([ones, at_least, 0 * ones], axis=-1)
        return np.asarray(survivor[..., :-1] - survivor[..., 1:])


class Network:
    """All manifestations in one acuity ("acute", "chronic", or None for unknown: the mean of both)."""

    def __init__(self, states: States, knowledge: Knowledge, acuity: str | None) -> None:
        self.states = states
        self.acuity = acuity
        holding = _PartHolding(states)
        self.manifestations: Mapping[str, Manifestation] = {
            name: _compile(name, levels, _effective(knowledge.causes, name, acuity), holding)
            for name, levels in knowledge.manifestations.items()
        }

    def mean_level(self, name: str, prior: Floats) -> Floats:
        """Return P(M = 0..levels) of one manifestation over a distribution of states."""
        manifestation = self.manifestations[name]
        weight = np.bincount(manifestation.configuration, prior, minlength=len(manifestation.active))
        return np.asarray(weight @ manifestation.distribution())


class _PartHolding:
    """Remembers which states hold a lesion (at a level)."""

    def __init__(self, states: States) -> None:
        self._states = states
        self._known: dict[tuple[str, str], NDArray[np.bool_]] = {}

    def __call__(self, parts: Sequence[tuple[str, str]]) -> NDArray[np.bool_]:
        holding = np.ones(len(self._states), dtype=bool)
        for part in parts:
            if part not in self._known:
                self._known[part] = self._states.having(*part)
            holding &= self._known[part]
        return holding


def _effective(causes: Sequence[Cause], name: str, acuity: str | None) -> list[tuple[Cause, Floats]]:
    """Return the causes of a manifestation with their chances in this acuity."""
    chosen = []
    for cause in causes:
        if cause.manifestation != name:
            continue
        if cause.acuity and acuity is not None and cause.acuity != acuity:
            continue
        share = 0.5 if cause.acuity and acuity is None else 1.0
        chosen.append((cause, share * np.array(cause.at_least)))
    return chosen


def _compile(
    name: str, levels: int, causes: Sequence[tuple[Cause, Floats]], holding: _PartHolding
) -> Manifestation:
    keys = np.random.default_rng(_KEYS_SEED).integers(1, 2**62, size=len(causes), dtype=np.int64)
    signature = np.zeros(len(holding(())), dtype=np.int64)
    on = [holding(cause.parts) for cause, _ in causes]
    for key, active in zip(keys, on, strict=True):
        signature[active] ^= key
    _, first, configuration = np.unique(signature, return_index=True, return_inverse=True)
    active = np.stack([states[first] for states in on], axis=1)
    chance = np.stack([chance for _, chance in causes]) if causes else np.zeros((0, levels))
    return Manifestation(name, tuple(cause for cause, _ in causes), configuration, active, chance)
