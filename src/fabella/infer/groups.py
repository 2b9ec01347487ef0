"""Manifestations that share a sign, considered together over the states of a knee."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.facts import Knowledge
from fabella.infer.network import Manifestation

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class GroupTable:
    """A group of manifestations over all states, told apart only as far as the group can.

    ``configuration`` (states,); ``example`` (configurations,) one state in each; ``joint`` (configurations,
    joint levels) their point distribution; ``levels`` the number of levels of each manifestation.
    """

    manifestations: tuple[Manifestation, ...]
    levels: tuple[int, ...]
    configuration: NDArray[np.intp]
    example: NDArray[np.intp]
    joint: Floats


def group_table(manifestations: list[Manifestation]) -> GroupTable:
    """Compile one group over all states."""
    first, *others = manifestations
    configuration, example = first.configuration, first.example
    if others:
        for manifestation in others:
            configuration = configuration * len(manifestation.active) + manifestation.configuration
        _, example, configuration = np.unique(configuration, return_index=True, return_inverse=True)
    return GroupTable(
        tuple(manifestations),
        tuple(m.levels for m in manifestations),
        configuration,
        example,
        _joint(manifestations, example),
    )


def with_chances(table: GroupTable, manifestations: Sequence[Manifestation]) -> GroupTable:
    """Return the table of the same manifestations under other chances: nothing else of it is new."""
    return replace(table, manifestations=tuple(manifestations), joint=_joint(manifestations, table.example))


def group_manifestations(knowledge: Knowledge) -> dict[str, tuple[str, ...]]:
    """Put manifestations that share a sign into one group (connected components), in table order."""
    group = {name: {name} for name in knowledge.manifestations}
    for indicator in knowledge.indicators.values():
        merged: set[str] = set().union(*(group[name] for name, _ in indicator.manifestations))
        for name in merged:
            group[name] = merged
    order = list(knowledge.manifestations)
    return {name: tuple(sorted(members, key=order.index)) for name, members in group.items()}


def _joint(manifestations: Sequence[Manifestation], example: NDArray[np.intp]) -> Floats:
    return _combine([m.distribution()[m.configuration[example]] for m in manifestations])


def _combine(singles: list[Floats]) -> Floats:
    """Return the joint distribution (..., product of levels) of independent ones.

    The levels of the last one vary fastest.
    """
    joint = singles[0]
    for single in singles[1:]:
        pairs: Floats = np.multiply(joint[..., :, None], single[..., None, :])
        joint = pairs.reshape((*pairs.shape[:-2], pairs.shape[-2] * pairs.shape[-1]))
    return joint
