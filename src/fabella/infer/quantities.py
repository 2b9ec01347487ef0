"""What is concluded about: every lesion, at any level and at each, and the states of a knee that hold it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from fabella.anatomy import Lesions
from fabella.infer.result import ANY_LEVEL
from fabella.infer.states import States

Floats = NDArray[np.float64]

_TILE = 256  # states


def quantities(states: States, lesions: Lesions) -> tuple[tuple[tuple[str, str], ...], Floats]:
    """Return what is concluded about, and which states hold it: (states, quantities) of 0 and 1.

    Every lesion at `ANY_LEVEL`, in order, then every level of the lesions that have more than one.
    """
    graded = [i for i, (lesion, _) in enumerate(states.slots) if len(lesions[lesion].levels) > 1]
    names = (*((lesion, ANY_LEVEL) for lesion in states.lesions), *(states.slots[i] for i in graded))
    column = np.full(len(states.slots), -1)
    column[graded] = np.arange(len(states.lesions), len(names))
    state, place = np.nonzero(states.members < len(states.slots))
    slot = states.members[state, place]
    has_column = column[slot] >= 0
    membership = np.zeros((len(states), len(names)))
    membership[state, states.lesion_of_slot[slot]] = 1.0
    membership[state[has_column], column[slot[has_column]]] = 1.0
    return names, membership


def tiles(membership: Floats) -> Iterator[tuple[slice, NDArray[np.intp], Floats]]:
    """Yield neighbouring states, the quantities that any of them holds, and which of them hold which.

    States are in the order of their lesions, so that neighbours hold few quantities between them.
    """
    for first in range(0, len(membership), _TILE):
        states = slice(first, first + _TILE)
        columns = np.flatnonzero(membership[states].any(axis=0))
        yield states, columns, np.ascontiguousarray(membership[states, columns])
