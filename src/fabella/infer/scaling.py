"""Finding the log-linear distribution over knee states that has given marginals."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from fabella.errors import FabellaError
from fabella.infer.states import States

Floats = NDArray[np.float64]

_STEPS = 60
_CLOSE = 1e-9
_LONGEST = 3.0
_HALVINGS = 25


class Scaler:
    """Newton's method on the convex dual of the log-linear model, exact over all states.

    The unknowns are one weight a slot (lesion at a level), one for the empty state and one for each
    ``together``: a set of states, given as (sets, states) of 0 and 1, whose probability is wanted too.
    """

    def __init__(self, states: States, together: Floats | None = None) -> None:
        self._states = states
        self.size = len(states.slots) + 1
        self._together = np.zeros((0, len(states))) if together is None else together
        self._second = _SecondMoments(states, self._together)

    def scale(
        self,
        offset: Floats,
        target: Floats,
        empty: float | None,
        wanted: Sequence[float] = (),
        *,
        start: Floats | None = None,
    ) -> tuple[Floats, Floats]:
        """Return the distribution (states,) that reaches the targets, and all weights.

        The weights are those of the slots, of the empty state and, from ``self.size`` on, of the sets.

        Parameters
        ----------
        offset
            (states,) the fixed part of log p.
        target
            (slots,) the marginals; 0 removes a slot.
        empty
            Probability of the empty state; None leaves it free.
        wanted
            Probability of each set of states.
        start
            Weights to start from, of an earlier fit.

        Raises
        ------
        FabellaError
            When no distribution over the states has these probabilities.
        """
        live = np.concatenate([target > 0, [empty is not None], np.ones(len(wanted), dtype=bool)])
        goal = np.concatenate([target, [empty or 0.0], wanted])[live]
        with np.errstate(divide="ignore"):
            weights = np.concatenate([np.log(target) - np.log1p(-target), np.zeros(1 + len(wanted))])
        if start is not None:
            weights = start.copy()
        p, log_total = self._distribution(offset, weights)
        for _ in range(_STEPS):
            second = self._second(p)
            mean = second.diagonal()
            error = goal - mean[live]
            if np.abs(error).max() < _CLOSE:
                return p, weights
            covariance = second[np.ix_(live, live)] - np.outer(mean[live], mean[live])
            covariance[np.diag_indices_from(covariance)] += 1e-13
            step = np.linalg.solve(covariance, error)
            step *= min(1.0, _LONGEST / np.abs(step).max())
            here = weights[live] @ goal - log_total
            for _ in range(_HALVINGS):
                trial = weights.copy()
                trial[live] += step
                p, log_total = self._distribution(offset, trial)
                if trial[live] @ goal - log_total >= here:
                    break
                step = step / 2
            weights = trial
        worst = self._states.slots[int(np.argmax(np.abs(target - mean[: len(target)])))]
        raise FabellaError(f"no distribution over knee states has these prevalences; furthest off: {worst}")

    def _distribution(self, offset: Floats, weights: Floats) -> tuple[Floats, float]:
        """Return the distribution (states,) and the log of its normaliser."""
        slots, empty, sets = np.split(weights, [self.size - 1, self.size])
        log_p = (
            offset + np.append(slots, 0.0).take(self._states.members.T).sum(axis=0) + sets @ self._together
        )
        log_p[:1] += empty
        top = log_p.max()
        p = np.exp(log_p - top)
        return np.asarray(p / p.sum()), float(top + np.log(p.sum()))


class _SecondMoments:
    """Probability of every two features of a state together, and of each one on the diagonal.

    Features are the slots of a state, whether it is the empty one, and its sets, numbered as the weights are.
    Two of them occur together in few states: these stand in one list, ordered by the two, so that a step adds
    up neighbours.
    """

    def __init__(self, states: States, together: Floats) -> None:
        self._size = len(states.slots) + 1 + len(together)
        row, column, state = map(
            np.concatenate, zip(_in_slots(states), _in_sets(states, together), strict=True)
        )
        pair = row * self._size + column
        order = np.argsort(pair.astype(np.min_scalar_type(self._size**2)), kind="stable")
        self._state, pair = state[order], pair[order]
        self._begins = np.flatnonzero(np.diff(pair, prepend=-1))
        self._row, self._column = np.divmod(pair[self._begins], self._size)

    def __call__(self, p: Floats) -> Floats:
        """Return them, (features, features), from the probability of every state."""
        second = np.zeros((self._size, self._size))
        second[self._row, self._column] = np.add.reduceat(p.take(self._state), self._begins)
        second[self._column, self._row] = second[self._row, self._column]
        return second


_Pairs: TypeAlias = tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]
"""Two features of a state, and the state."""


@lru_cache(maxsize=1)
def _in_slots(states: States) -> _Pairs:
    """Return every two slots of every state, and the empty state."""
    empty = len(states.slots)
    found = [np.array([[empty], [empty], [0]])]
    columns = states.members.T
    for place, second in enumerate(columns):
        held = np.flatnonzero(second < empty)
        found += (np.stack([first[held], second[held], held]) for first in columns[: place + 1])
    row, column, state = np.concatenate(found, axis=1)
    return row, column, state


def _in_sets(states: States, together: Floats) -> _Pairs:
    """Return every set with the slots and the sets of every state in it."""
    inside = together > 0
    own, state = np.nonzero(inside)
    slots = states.members[state]
    of_slot, place = np.nonzero(slots < len(states.slots))
    of_set, other = np.nonzero(inside.T[state])
    both, first_set = np.concatenate([of_slot, of_set]), len(states.slots) + 1
    row = np.concatenate([slots[of_slot, place], first_set + other])
    return row, first_set + own[both], state[both]
