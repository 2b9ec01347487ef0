"""The information of facets and thresholds in a many-facet Rasch model: what marks tell of them together."""

import numpy as np

from fabella.assess.facets_ratings import Ratings
from fabella.assess.gstudy_design import Array, Codes


def meet(data: Ratings, variance: Array, pull: Array, row: Codes, rows: int) -> Array:
    """Return the information that rows share with effects and then thresholds, a row each."""
    parts = []
    for code, n in zip(data.codes, data.levels, strict=True):
        parts.append(-np.bincount(row * n + code, weights=variance, minlength=rows * n).reshape(rows, n))
    scales = len(data.marks)
    key = row * scales + data.scale
    steps = [np.bincount(key, weights=each, minlength=rows * scales) for each in pull]
    parts.append(-np.stack(steps, axis=1).reshape(rows, -1))
    return np.concatenate(parts, axis=1)


def information(data: Ratings, variance: Array, pull: Array, both: Array) -> Array:
    """Return the information of effects and thresholds among themselves.

    Parameters
    ----------
    data
        The observations.
    variance, pull, both
        Variance of the category, its covariance with each threshold's being passed, and the covariances of
        these with each other; shapes (n,), (thresholds, n) and (thresholds, thresholds, n).
    """
    blocks = [-meet(data, variance, pull, code, n) for code, n in zip(data.codes, data.levels, strict=True)]
    top = np.concatenate(blocks)
    start, size = len(top), top.shape[1]
    scales, width = len(data.marks), len(pull)
    whole = np.zeros((size, size))
    whole[:start] = top
    whole[start:, :start] = top[:, start:].T
    for h in range(width):
        for k in range(h + 1):
            shared = np.bincount(data.scale, weights=both[h, k], minlength=scales)
            at = start + np.arange(scales) * width
            whole[at + h, at + k] = whole[at + k, at + h] = shared
    return whole
