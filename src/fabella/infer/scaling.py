"""Finding the log-linear distribution over knee states that has given marginals."""

from __future__ import annotations

from itertools import combinations

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

    The unknowns are one weight a slot (lesion at a level) and one for the empty state. The moments are sums
    over the at most four slots of each state, so that a step costs a few passes over the states.
    """

    def __init__(self, states: States) -> None:
        self._states = states
        self._size = len(states.slots) + 1
        columns = states.members.T
        self._pairs = [a * self._size + b for a, b in combinations(columns, 2)]

    def scale(
        self, offset: Floats, target: Floats, empty: float | None, start: Floats | None = None
    ) -> tuple[Floats, Floats]:
        """Return the distribution (states,) and the weights (slots + 1,) that reach the targets.

        ``offset`` (states,) is the fixed part of log p; ``target`` (slots,) the marginals, 0 removing a slot;
        ``empty`` the probability of the empty state, None leaving it free; ``start`` weights to start from.
        Raises `FabellaError` when no distribution over the states has these marginals.
        """
        live = np.append(target > 0, empty is not None)
        goal = np.append(target, empty or 0.0)[live]
        with np.errstate(divide="ignore"):
            weights = np.append(np.log(target) - np.log1p(-target), 0.0) if start is None else start.copy()
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
        worst = self._states.slots[int(np.argmax(np.abs(target - mean[:-1])))]
        raise FabellaError(f"no distribution over knee states has these prevalences; furthest off: {worst}")

    def _distribution(self, offset: Floats, weights: Floats) -> tuple[Floats, float]:
        """Return the distribution (states,) and the log of its normaliser."""
        log_p = offset + np.append(weights[:-1], 0.0).take(self._states.members.T).sum(axis=0)
        log_p[0] += weights[-1]
        top = log_p.max()
        p = np.exp(log_p - top)
        return np.asarray(p / p.sum()), float(top + np.log(p.sum()))

    def _moments(self, p: Floats) -> tuple[Floats, Floats]:
        """Return first and second moments of the slots and (last) of the empty state."""
        size = self._size
        half = np.zeros(size * size)
        for pair in self._pairs:
            half += np.bincount(pair, p, minlength=size * size)
        second = half.reshape(size, size) + half.reshape(size, size).T
        mean = np.append(self._states.sum_by_slot(p), p[0])
        second[-1, :] = second[:, -1] = 0.0
        second[np.diag_indices(size)] = mean
        return mean, second
