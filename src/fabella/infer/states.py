"""Every state a knee can be in: nothing, any one or two lesions, and more where they keep company."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain, combinations, product
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from fabella.anatomy import Lesions

USUALLY = 4
"""Most lesions of a state, but for what a dislocation tears."""
MOST_AT_ONCE = USUALLY + 1
FOUR_AT_ONCE = "ligaments"
"""The only company of which four may be present at once (a dislocated or multiply injured knee)."""

Slot: TypeAlias = tuple[str, str]
"""A lesion at one level."""


@dataclass(frozen=True, slots=True, eq=False)
class States:
    """All states, state 0 being a knee without any listed lesion.

    ``slots``: every (lesion, level); ``members``: (states, 5) positions in ``slots``, padded with
    ``len(slots)``, stored column by column; ``holding``: (slots, states) the same as yes or no;
    ``lesion_of_slot``: position of each slot's lesion in ``lesions``.
    """

    lesions: tuple[str, ...]
    slots: tuple[Slot, ...]
    lesion_of_slot: NDArray[np.intp]
    members: NDArray[np.intp]
    holding: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.members)

    def having(self, lesion: str, level: str = "") -> NDArray[np.bool_]:
        """Say for each state whether it holds the lesion, at one level or (``""``) at any."""
        wanted = [i for i, slot in enumerate(self.slots) if slot[0] == lesion and level in ("", slot[1])]
        return np.asarray(self.holding[wanted].any(axis=0))

    def alone(self) -> NDArray[np.intp]:
        """Return the state that holds each slot and nothing else (slots,)."""
        first, second = self.members.T[:2]
        single = np.flatnonzero((first < len(self.slots)) & (second == len(self.slots)))
        return single[np.argsort(first[single])]

    def sum_by_slot(self, weights: NDArray[np.float64]) -> NDArray[np.float64]:
        """Add up ``weights`` (states,) over the states that hold each slot.

        Probabilities add up to marginals.
        """
        total = np.zeros(len(self.slots) + 1)
        for column in self.members.T:
            total += np.bincount(column, weights, minlength=len(total))
        return total[:-1]

    def names(self, state: int) -> tuple[Slot, ...]:
        """Return the lesions of one state."""
        return tuple(self.slots[i] for i in self.members[state] if i < len(self.slots))


def enumerate_states(lesions: Lesions) -> States:
    """List the states of a knee.

    Up to two lesions combine freely unless they exclude each other; three only when all of them share a
    company (injuries with injuries, wear with wear), four only among the ligaments and what tears with them,
    five only where a dislocation has torn through. Each lesion stands at exactly one level.
    """
    slots = tuple((lesion.id, level.id) for lesion in lesions.values() for level in lesion.levels)
    position = {slot: i for i, slot in enumerate(slots)}
    levels = {
        lesion.id: [position[lesion.id, level.id] for level in lesion.levels] for lesion in lesions.values()
    }
    choices = [
        *(choice for group in _groups(lesions) for choice in product(*(levels[lesion] for lesion in group))),
        *(tuple(levels[lesion][-1] for lesion in group) for group in _torn_through(lesions)),
    ]
    held = np.array([len(choice) for choice in choices])
    members = np.full((len(choices), MOST_AT_ONCE), len(slots))
    members[np.arange(MOST_AT_ONCE) < held[:, None]] = np.fromiter(chain.from_iterable(choices), np.intp)
    holding = np.zeros((len(slots) + 1, len(choices)), dtype=bool)
    holding[members.T, np.arange(len(choices))] = True
    names = tuple(lesions)
    return States(
        lesions=names,
        slots=slots,
        lesion_of_slot=np.array([names.index(lesion) for lesion, _ in slots]),
        members=np.asfortranarray(members),
        holding=holding[:-1],
    )


def _groups(lesions: Lesions) -> Iterator[tuple[str, ...]]:
    """Yield each set of lesions that may be present together, the smallest first."""
    clash = {(a, b) for a in lesions for b in lesions if a != b and lesions.exclude_each_other(a, b)}

    def compatible(group: tuple[str, ...]) -> bool:
        return not any(pair in clash for pair in combinations(group, 2))

    for size in (0, 1, 2):
        yield from (group for group in combinations(lesions, size) if compatible(group))
    companies = sorted({name for lesion in lesions.values() for name in lesion.company})
    members = {company: tuple(i for i in lesions if company in lesions[i].company) for company in companies}
    three = dict.fromkeys(group for company in companies for group in combinations(members[company], 3))
    four = combinations(members.get(FOUR_AT_ONCE, ()), USUALLY)
    yield from (group for group in (*three, *four) if compatible(group))


def _torn_through(lesions: Lesions) -> Iterator[tuple[str, ...]]:
    """Yield what a dislocation tears, with two more of its company: five, each at its worst level."""
    for dislocation in (lesion for lesion in lesions.values() if lesion.tears):
        core = (dislocation.id, *dislocation.tears)
        others = [i for i in lesions if FOUR_AT_ONCE in lesions[i].company and i not in core]
        for pair in combinations(others, MOST_AT_ONCE - len(core)):
            yield tuple(sorted((*core, *pair), key=tuple(lesions).index))
