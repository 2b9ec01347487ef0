"""From lesions to manifestations: noisy-MAX with conjunctions, over the states of a knee.

A *manifestation* is one physical thing that lesions bring about (the tibia slides forward, the joint is full)
and that several signs may show. Signs speak only through manifestations, so that two signs of the same thing
are not counted twice.

``P(M >= k | x) = 1 - (1 - leak_k) * product over causes c of (1 - lambda_kc [c active in x])``

States that switch on the same causes of a manifestation are alike for it: they share a *configuration*.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.facts import Cause, Knowledge
from fabella.infer.states import States

Floats = NDArray[np.float64]
FloatT = TypeVar("FloatT", np.float32, np.float64)

PHASES = ("acute", "chronic")
GUARDING = "guarding"
"""The manifestation that weakens every stress test."""
_KEYS_SEED = 20260101  # any odd-looking keys will do: they only tell configurations apart


@dataclass(frozen=True, slots=True, eq=False)
class Manifestation:
    """One manifestation compiled over all states.

    ``configuration``: (states,) which configuration each state is in; ``example``: (configurations,) one
    state in each; ``active``: (configurations, causes) which causes it switches on, the leak always;
    ``chance``: (causes, levels) lambda; ``causes`` in the same order; ``phases``: for each possible acuity,
    (causes,) which of them act in it, 1 or 0. Their distributions are averaged.
    """

    name: str
    causes: tuple[Cause, ...]
    configuration: NDArray[np.intp]
    example: NDArray[np.intp]
    active: NDArray[np.bool_]
    chance: Floats
    phases: tuple[Floats, ...]

    @property
    def levels(self) -> int:
        """Return the number of levels above "nothing to find"."""
        return int(self.chance.shape[1])

    def distribution(self) -> Floats:
        """Return P(M = 0..levels | configuration), shape (configurations, levels + 1)."""
        silent = [(self.active * phase) @ quiet(self.chance) for phase in self.phases]
        return _mean([level_shares(each) for each in silent])

    def drawn_distribution(
        self, drawn_quiet: NDArray[np.float32], used: NDArray[np.intp]
    ) -> NDArray[np.float32]:
        """Return the same under drawn chances, for some configurations: (used, levels + 1, draws).

        ``drawn_quiet`` (causes, levels, draws) is `quiet` of the drawn chances.
        """
        causes, levels, draws = drawn_quiet.shape
        flat = drawn_quiet.reshape(causes, -1)

        def in_phase(active: NDArray[np.bool_], phase: Floats) -> NDArray[np.float32]:
            own = np.flatnonzero(active.any(axis=0) * phase)  # the other causes add nothing
            silent = active[:, own].astype(np.float32) @ flat[own]
            return level_shares(silent.reshape(len(active), levels, draws))

        active = self.active[used]
        first, *others = self.phases
        shares = in_phase(active, first)
        for other in others:  # one at most
            changed = np.flatnonzero(active[:, first != other].any(axis=1))
            shares[changed] = (shares[changed] + in_phase(active[changed], other)) / 2
        return shares


def told_apart(configuration: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the configurations that occur, in order, and the position of each entry among them."""
    occurs = np.bincount(configuration) > 0
    return np.flatnonzero(occurs), (np.cumsum(occurs) - 1)[configuration]


def quiet(chance: NDArray[FloatT]) -> NDArray[FloatT]:
    """Return log(1 - lambda): how much silence each cause takes away."""
    return np.log1p(-np.minimum(chance, 1 - 1e-7))


def level_shares(silent: NDArray[FloatT]) -> NDArray[FloatT]:
    """Turn log P(M < k), k = 1..levels on the second axis, into P(M = 0..levels)."""
    shares = np.empty((len(silent), silent.shape[1] + 1, *silent.shape[2:]), dtype=silent.dtype)
    beyond = np.expm1(silent, out=shares[:, 1:])  # minus P(M >= k), which becomes P(M = k) from the least on
    np.add(1, beyond[:, 0], out=shares[:, 0])
    np.subtract(beyond[:, 1:], beyond[:, :-1], out=beyond[:, :-1])
    np.negative(beyond[:, -1], out=beyond[:, -1])
    return shares


def _mean(distributions: list[NDArray[FloatT]]) -> NDArray[FloatT]:
    total, *others = distributions
    for each in others:
        total = total + each
    return total / total.dtype.type(len(distributions)) if others else total


class Network:
    """All manifestations in one acuity ("acute", "chronic", or None for unknown: the mean of both)."""

    def __init__(self, states: States, knowledge: Knowledge, acuity: str | None) -> None:
        self.states = states
        self.acuity = acuity
        causes: dict[str, list[Cause]] = {name: [] for name in knowledge.manifestations}
        for cause in knowledge.causes:
            causes[cause.manifestation].append(cause)
        possible = PHASES if acuity is None else (acuity,)
        self._effective = {
            name: [cause for cause in own if cause.acuity in ("", *possible)] for name, own in causes.items()
        }
        self.manifestations: Mapping[str, Manifestation] = _Compiled(
            states, knowledge.manifestations, self._effective, possible
        )

    @cached_property
    def reach(self) -> Mapping[tuple[str, str], tuple[str, str]]:
        """What each link from a lesion to a manifestation rests on.

        (manifestation, lesion) to (provenance, source).
        """
        return {
            (name, lesion): (cause.provenance.value, cause.source)
            for name, chosen in self._effective.items()
            for cause in chosen
            for lesion, _ in cause.parts
        }


class _Compiled(Mapping[str, Manifestation]):
    """The manifestations, each compiled when it is first asked for: fitting the signs needs only some."""

    def __init__(
        self,
        states: States,
        levels: Mapping[str, int],
        causes: Mapping[str, Sequence[Cause]],
        phases: Sequence[str],
    ) -> None:
        self._phases = phases
        self._levels = levels
        self._causes = causes
        self._states = states
        self._done: dict[str, Manifestation] = {}

    def __getitem__(self, name: str) -> Manifestation:
        if name not in self._done:
            self._done[name] = _compile(
                name, self._levels[name], self._causes[name], self._states, self._phases
            )
        return self._done[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._levels)

    def __len__(self) -> int:
        return len(self._levels)


def _compile(
    name: str, levels: int, causes: Sequence[Cause], states: States, phases: Sequence[str]
) -> Manifestation:
    keys = np.random.default_rng(_KEYS_SEED).integers(1, 2**62, size=len(causes), dtype=np.int64)
    signature = np.zeros(len(states), dtype=np.int64)
    on = [_active(cause, states) for cause in causes]
    for key, active in zip(keys, on, strict=True):
        signature ^= key * active
    _, first, configuration = np.unique(signature, return_index=True, return_inverse=True)
    in_phase = [tuple(float(cause.acuity in ("", phase)) for cause in causes) for phase in phases]
    if len(set(in_phase)) == 1:  # no cause of it belongs to one phase: all are alike
        in_phase = in_phase[:1]
    return Manifestation(
        name=name,
        causes=tuple(causes),
        configuration=configuration,
        example=first,
        active=np.stack([active[first] for active in on], axis=1),
        chance=np.array([cause.at_least for cause in causes]).reshape(len(causes), levels),
        phases=tuple(np.array(each) for each in in_phase),
    )


def _active(cause: Cause, states: States) -> NDArray[np.bool_]:
    """Say in which states a cause is there and not silenced."""
    active = np.ones(len(states), dtype=bool)
    for lesion, level in cause.parts:
        active &= states.having(lesion, level)
    for lesion in cause.without:
        active &= ~states.having(lesion)
    return active
