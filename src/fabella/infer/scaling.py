"""Finding the log-linear distribution over knee states that has given marginals."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from fabella.errors import FabellaError
from fabella.infer.states import MOST_AT_ONCE, USUALLY, States

Floats = NDArray[np.float64]

_STEPS = 60
_CLOSE = 1e-9
_LONGEST = 3.0
_HALVINGS = 25


class Scaler:
    """Newton's method on the convex dual of the log-linear model, exact over all states.

    The unknowns are one weight a slot (lesion at a level), one for the empty state and one for each
    ``together``: a set of states, given as (sets, states) of 0 and 1, whose probability is wanted too. The
    moments of the slots are sums over those of each state, so that a step costs a few passes over the states,
    and next to nothing for the few that have more than `USUALLY` of them.
    """

    def __init__(self, states: States, together: Floats | None = None) -> None:
        self._states = states
        self.size = len(states.slots) + 1
        self._together = np.zeros((0, len(states))) if together is None else together
        columns = states.members.T
        usual, (last,) = columns[:USUALLY], columns[USUALLY:]
        self._pairs = [a * self.size + b for a, b in combinations(usual, 2)]
        self._full = np.flatnonzero(last < len(states.slots))
        self._last = last[self._full]
        self._last_pairs = usual[:, self._full] * self.size + self._last
        self._held = np.flatnonzero(self._together.any(axis=0))  # states in any set
        self._inside = self._together[:, self._held]
        of_sets = (np.flatnonzero(row) for row in self._together)
        self._sets = [(states_of, columns[:, states_of].ravel()) for states_of in of_sets]

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
            mean, second = self._moments(p)
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

    def _moments(self, p: Floats) -> tuple[Floats, Floats]:
        """Return first and second moments of the slots, of the empty state and of the sets, in this order."""
        size, sets = self.size, len(self._together)
        half = np.zeros(size * size)
        for pair in self._pairs:
            half += np.bincount(pair, p, minlength=size * size)
        once = half.reshape(size, size).sum(axis=0) + half.reshape(size, size).sum(axis=1)
        slots = once[:-1] / (USUALLY - 1)  # each is paired with all others
        full = p[self._full]
        half += np.bincount(self._last_pairs.ravel(), np.tile(full, USUALLY), minlength=size * size)
        slots += np.bincount(self._last, full, minlength=size)[:-1]
        second = np.zeros((size + sets, size + sets))
        second[:size, :size] = half.reshape(size, size) + half.reshape(size, size).T
        inside = self._inside * p[self._held]
        mean = np.concatenate([slots, p[:1], inside.sum(axis=1)])
        second[size - 1, :] = second[:, size - 1] = 0.0
        for k, (states_of, members) in enumerate(self._sets, start=size):
            shares = np.bincount(members, np.tile(p[states_of], MOST_AT_ONCE), minlength=size)
            second[k, : size - 1] = second[: size - 1, k] = shares[:-1]
        second[size:, size:] = inside @ self._inside.T
        second[np.diag_indices(size + sets)] = mean
        return mean, second
