"""Ratings made ready for a many-facet Rasch model, and the probabilities that the model gives them.

ln(P(x = h) / P(x = h - 1)) = ability - (sum of difficulty and severity) - threshold h of the scale.
Sources: Andrich 1978 Psychometrika 43:561 (one scale for all), Masters 1982 Psychometrika 47:149 (a scale for
each station), Linacre 1989 (facets beside items); all from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fabella.assess.gstudy_design import Array, Codes, check_lengths, coded
from fabella.errors import Problems

_MOST_CATEGORIES = 60


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ratings:
    """Ratings as codes.

    Parameters
    ----------
    category
        Category given, 0 to the top of its scale, shape (n,).
    candidate
        Candidate, shape (n,).
    facets, codes
        Names of the other facets, and for each its codes, shape (n,).
    scale
        Rating scale of each observation, shape (n,): all 0 when one scale serves all.
    marks
        The mark that each category stands for [mark], shape (scales, categories); NaN above the top.
    closed
        Scales in which a mark between lowest and highest was never given: their categories were closed up.
    """

    category: Codes
    candidate: Codes
    facets: tuple[str, ...]
    codes: tuple[Codes, ...]
    scale: Codes
    marks: Array
    closed: tuple[int, ...]

    @property
    def tops(self) -> Codes:
        """Return the top category of each scale [-]."""
        return np.asarray(np.isfinite(self.marks).sum(axis=1) - 1, dtype=np.intp)

    @property
    def levels(self) -> tuple[int, ...]:
        """Return how many levels each facet has, candidates aside."""
        return tuple(int(code.max()) + 1 for code in self.codes)

    @property
    def offsets(self) -> tuple[int, ...]:
        """Return where the parameters of each facet begin, and at the end where the thresholds do."""
        return tuple(int(n) for n in np.cumsum([0, *self.levels]))

    @property
    def n_candidates(self) -> int:
        """Return how many candidates there are."""
        return int(self.candidate.max()) + 1

    @property
    def is_extreme(self) -> NDArray[np.bool_]:
        """Return which candidates have nothing or everything."""
        earned = np.bincount(self.candidate, weights=self.category)
        most = np.bincount(self.candidate, weights=self.tops[self.scale])
        extreme: NDArray[np.bool_] = (earned == 0) | (earned == most)
        return extreme

    def of(self, kept: Codes) -> "Ratings":
        """Return some of the observations, with all candidates and levels still counted."""
        return Ratings(
            category=self.category[kept],
            candidate=self.candidate[kept],
            facets=self.facets,
            codes=tuple(code[kept] for code in self.codes),
            scale=self.scale[kept],
            marks=self.marks,
            closed=self.closed,
        )


def ratings(
    mark: ArrayLike,
    *,
    candidate: ArrayLike,
    facets: Mapping[str, ArrayLike],
    scale: ArrayLike | None = None,
) -> Ratings:
    """Return marks made ready for the model.

    Parameters
    ----------
    mark
        Whole or half marks in steps that mean the same throughout a scale [mark], shape (n,).
    candidate
        Code of the candidate, shape (n,).
    facets
        Codes of stations, items, examiners …, each of shape (n,).
    scale
        Code of the rating scale, shape (n,), for thresholds of their own; None: one scale for all.

    Raises
    ------
    InputError
        When marks or codes are unusable, a scale has one category only or more than 60.
    """
    x = np.asarray(mark, dtype=np.float64)
    group = np.zeros(len(x), dtype=np.intp) if scale is None else coded(scale)
    codes = {"candidate": coded(candidate), **{name: coded(code) for name, code in facets.items()}}
    check_lengths(x, {**codes, "scale": group})
    used = [np.unique(x[group == g]) for g in range(int(group.max()) + 1)]
    problems = Problems()
    for g, marks in enumerate(used):
        if not 1 < len(marks) <= _MOST_CATEGORIES:
            problems.add(f"scale {g}", str(len(marks)), "different marks only", "2 to 60 can be analysed")
    problems.raise_any()
    table = np.full((len(used), max(map(len, used))), np.nan)
    category = np.zeros(len(x), dtype=np.intp)
    closed = []
    for g, marks in enumerate(used):
        table[g, : len(marks)] = marks
        category[group == g] = np.searchsorted(marks, x[group == g])
        steps = np.diff(marks)
        if steps.max() > 1.5 * steps.min():
            closed.append(g)
    return Ratings(
        category=category,
        candidate=codes.pop("candidate"),
        facets=tuple(codes),
        codes=tuple(codes.values()),
        scale=group,
        marks=table,
        closed=tuple(closed),
    )


def cumulated(thresholds: Array, tops: Codes) -> Array:
    """Return sums of thresholds up to each category, shape (scales, categories); infinite above the top."""
    sums = np.concatenate([np.zeros((len(thresholds), 1)), np.cumsum(thresholds, axis=1)], axis=1)
    sums[np.arange(sums.shape[1]) > tops[:, None]] = np.inf
    return sums


def log_probabilities(location: Array, sums: Array) -> Array:
    """Return ln P of every category, categories on a new first axis.

    Parameters
    ----------
    location
        Ability less difficulty and severity [logit], any shape.
    sums
        Cumulated thresholds of the scale of each location, shape broadcastable to (categories, …).
    """
    raw: Array = np.arange(len(sums)).reshape(-1, *[1] * location.ndim) * location - sums
    raw -= raw.max(axis=0)
    raw -= np.log(np.exp(raw).sum(axis=0))
    return raw


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moments:
    """What the model expects of an observation.

    Parameters
    ----------
    mean, variance
        Of the category [-], [-].
    reach
        Probability of each threshold's being passed, thresholds on the first axis.
    pull
        Covariance of the category with each threshold's being passed, same shape.
    """

    mean: Array
    variance: Array
    reach: Array
    pull: Array


def moments(probability: Array) -> Moments:
    """Return the moments of a category from the probabilities on the first axis."""
    top = len(probability) - 1
    reach, above = np.empty((top, *probability.shape[1:])), np.empty((top, *probability.shape[1:]))
    passed = weighed = np.zeros(probability.shape[1:])
    square = np.zeros(probability.shape[1:])
    for h in range(top, 0, -1):
        passed, weighed = passed + probability[h], weighed + h * probability[h]
        square += h * h * probability[h]
        reach[h - 1], above[h - 1] = passed, weighed
    mean = weighed
    return Moments(mean=mean, variance=square - mean**2, reach=reach, pull=above - mean * reach)


def contrasts(facets: tuple[Codes, ...], tops: Codes, width: int) -> Array:
    """Return orthonormal columns that span all parameters whose sums are 0 where they have to be.

    Parameters
    ----------
    facets
        For each facet, the group of every level; levels of a group sum to 0.
    tops
        Top category of each scale; its thresholds sum to 0, those above the top stay 0.
    width
        Thresholds kept for a scale, at least the highest top.
    """
    sizes = [len(groups) for groups in facets]
    total = sum(sizes) + len(tops) * width
    columns = []
    start = 0
    for groups in facets:
        for group in np.unique(groups):
            columns.append(_centred(total, start + np.flatnonzero(groups == group)))
        start += len(groups)
    for top in tops:
        columns.append(_centred(total, start + np.arange(top)))
        start += width
    return np.concatenate(columns, axis=1)


def _centred(total: int, where: Codes) -> Array:
    """Return len(where) - 1 orthonormal columns that sum to 0 (Helmert's)."""
    n = len(where)
    columns = np.zeros((total, n - 1))
    for k in range(1, n):
        columns[where[:k], k - 1] = 1 / np.sqrt(k * (k + 1))
        columns[where[k], k - 1] = -k / np.sqrt(k * (k + 1))
    return columns
