"""Krippendorff's alpha: agreement of any number of raters, with gaps, on any scale."""

from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fabella.errors import InputError, suggestion
from fabella.stats.intervals import check

Scale = Literal["nominal", "ordinal", "interval", "ratio"]


def krippendorff_alpha(ratings: ArrayLike, *, scale: Scale, values: tuple[float, ...] | None = None) -> float:
    """Return Krippendorff's alpha, 1 - observed over expected disagreement [-]; NaN if all ratings are one.

    Parameters
    ----------
    ratings
        Shape (raters, units); NaN where a rater gave none. Units with fewer than two ratings tell nothing.
    scale
        How far two values are apart: ``nominal``, different or not; ``ordinal``, by the number of ratings
        between them; ``interval``, by their difference; ``ratio``, by their difference over their sum.
    values
        The whole scale in rising order; None for the values in use. It changes nothing but what is allowed.

    Raises
    ------
    InputError
        When the scale is unknown, no unit has two ratings, or a rating is not among the values.

    References
    ----------
    Krippendorff 2011 Computing Krippendorff's alpha-reliability (from memory).
    """
    if scale not in get_args(Scale):
        remedy = suggestion(scale, get_args(Scale))
        raise InputError.of(place="scale", value=scale, says="is not a kind of scale", remedy=remedy)
    x = np.atleast_2d(np.asarray(ratings, dtype=np.float64))
    used = np.unique(x[~np.isnan(x)])
    pairable = x[:, (~np.isnan(x)).sum(axis=0) >= 2]
    check(
        (pairable.shape[1] > 0, "ratings", "no pair", "at least one unit needs two ratings"),
        (
            values is None or bool(np.isin(used, np.asarray(values)).all()),
            "ratings",
            "a value outside the scale",
            f"use {values}",
        ),
    )
    # one row a unit, one column a value: how many raters gave the unit that value
    counts = np.stack([(pairable == value).sum(axis=0) for value in used], axis=1).astype(np.float64)
    raters = counts.sum(axis=1, keepdims=True)
    coincidence = (counts / (raters - 1)).T @ counts - np.diag((counts / (raters - 1)).sum(axis=0))
    margin = coincidence.sum(axis=1)
    apart = _apart(used, margin, scale)
    observed = float((coincidence * apart).sum())
    expected = float(margin @ apart @ margin) / (margin.sum() - 1)
    return 1 - observed / expected if expected > 0 else float("nan")


def _apart(values: NDArray[np.float64], margin: NDArray[np.float64], scale: Scale) -> NDArray[np.float64]:
    """Return the squared distance of every two values."""
    if scale == "nominal":
        return np.asarray(1 - np.eye(len(values)), dtype=np.float64)
    if scale == "ordinal":
        place = np.cumsum(margin) - margin / 2  # the middle of each value in the row of all ratings
        return np.asarray(np.subtract.outer(place, place) ** 2, dtype=np.float64)
    difference = np.asarray(np.subtract.outer(values, values) ** 2, dtype=np.float64)
    if scale == "interval":
        return difference
    total = np.asarray(np.add.outer(values, values) ** 2, dtype=np.float64)
    return np.divide(difference, total, out=np.zeros_like(total), where=total > 0)
