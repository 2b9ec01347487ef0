"""How well ratings fit a many-facet Rasch model, and how well its measures tell people apart.

With expectation E and variance W of each rating: outfit is the mean of (x - E)²/W, infit is sum of (x - E)²
over sum of W; both are near 1 when the model holds.

Source: Wright and Masters 1982 Rating Scale Analysis, chapter 5 (from memory); agreement with R eRm is the
test.
"""

from dataclasses import dataclass

import numpy as np

from fabella.assess.facets_ability import locations
from fabella.assess.facets_ratings import Ratings, cumulated, log_probabilities
from fabella.assess.gstudy_design import Array, Codes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """Fit of each level of a facet: mean squares [-], 1 expected, and how many ratings they are of."""

    infit: Array
    outfit: Array
    n: Codes


@dataclass(frozen=True, slots=True, kw_only=True)
class Separation:
    """How well measures tell their bearers apart.

    For examiners a high separation means that they differ, and is no praise.

    Parameters
    ----------
    spread
        SD of the measures less what error adds to it [logit].
    error
        Root mean square standard error [logit].
    """

    spread: float
    error: float

    @property
    def separation(self) -> float:
        """Return true spread over error [-]."""
        return self.spread / self.error


def separation(estimate: Array, se: Array) -> Separation:
    """Return how well measures tell their bearers apart.

    Parameters
    ----------
    estimate, se
        Measures and their standard errors [logit], shape (n,), n at least 2.

    References
    ----------
    Wright and Masters 1982 Rating Scale Analysis, chapter 5 (from memory).
    """
    error = float((se**2).mean())
    true = max(float(estimate.var(ddof=1)) - error, 0.0)
    return Separation(spread=float(np.sqrt(true)), error=float(np.sqrt(error)))


def fits(data: Ratings, ability: Array, effects: Array, thresholds: Array) -> tuple[Fit, ...]:
    """Return the fit of candidates, and then of each facet in turn.

    Parameters
    ----------
    data
        The observations.
    ability, effects, thresholds
        Of candidates, of all facets one after another, and of each scale [logit].
    """
    sums = cumulated(thresholds, data.tops)[data.scale].T
    probability = np.exp(log_probabilities(locations(data, ability, effects), sums))
    steps = np.arange(len(sums), dtype=np.float64)
    away = steps[:, None] - steps @ probability
    variance = np.maximum((probability * away**2).sum(axis=0), 1e-12)
    square = away[data.category, np.arange(len(data.category))] ** 2
    keys = [(data.candidate, data.n_candidates), *zip(data.codes, data.levels, strict=True)]
    return tuple(_fit(code, n, square, variance) for code, n in keys)


def _fit(code: Codes, levels: int, square: Array, variance: Array) -> Fit:
    def total(values: Array) -> Array:
        return np.bincount(code, weights=values, minlength=levels).astype(np.float64)

    n = np.bincount(code, minlength=levels)
    return Fit(infit=total(square) / total(variance), outfit=total(square / variance) / n, n=n)


def expected_mark(data: Ratings, location: Array, thresholds: Array) -> Array:
    """Return the mark expected at each location [mark], averaged over the rating scales."""
    sums = cumulated(thresholds, data.tops).T[:, :, None]
    shape = (sums.shape[1], len(location))
    probability = np.exp(log_probabilities(np.broadcast_to(location, shape), sums))
    marks = np.nan_to_num(data.marks).T[:, :, None]
    mean: Array = (probability * marks).sum(axis=0).mean(axis=0)
    return mean
