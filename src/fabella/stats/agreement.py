"""Agreement between examiners: kappa for grades, intraclass correlation for measurements."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fabella.errors import InputError, suggestion
from fabella.stats.deferred import scipy
from fabella.stats.intervals import Interval, check, level_claim, normal_quantile

_MOST = 1e200
Form = Literal["1,1", "2,1", "3,1", "1,k", "2,k", "3,k"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Agreement of two examiners beyond chance.

    Parameters
    ----------
    kappa
        Cohen's kappa [-] with its interval, cut at -1 and 1.
    se
        Its large-sample standard error [-].
    observed, expected
        Weighted share of agreement that was seen, and that chance alone would give [-].
    n
        Number of knees both examined.
    """

    kappa: Interval
    se: float
    observed: float
    expected: float
    n: int


def kappa(
    table: ArrayLike,
    *,
    weights: Literal["none", "linear", "quadratic"] | Sequence[Sequence[float]] = "none",
    level: float = 0.95,
) -> Agreement:
    """Return Cohen's kappa of a square table of counts, weighted if asked.

    kappa = (po - pe) / (1 - pe), with po and pe summed over agreement weights w; w = 1 on the diagonal.

    Parameters
    ----------
    table
        Counts, shape (c, c), at least two categories: first examiner in rows, second in columns, same order.
    weights
        "none"; "linear", w = 1 - |i-j|/(c-1); "quadratic", w = 1 - ((i-j)/(c-1))^2; or a (c, c) table of
        disagreement from 0 (none) upwards, of which w = 1 - v/max(v).
    level
        Confidence [-].

    Raises
    ------
    InputError
        When the table is not square or holds no two categories in use, a count is negative, the weights do
        not fit, or the level is out of range.

    References
    ----------
    Cohen 1968 Psychol Bull 70:213-220; standard error: Fleiss, Cohen and Everitt 1969 Psychol Bull
    72:323-327 (both from memory).
    """
    counts = np.atleast_2d(np.asarray(table, dtype=np.float64))
    square = counts.shape == (len(counts), len(counts)) and len(counts) > 1
    check(
        (square, "table", f"shape {counts.shape}", "use as many rows as columns, at least two"),
        (bool((counts >= 0).all()), "table", "a count", "use counts from 0"),
        (counts.sum() > 0, "table", counts.sum(), "use at least one pair of grades"),
        level_claim(level),
    )
    w, n = _agreement_weights(weights, len(counts)), counts.sum()
    p = counts / n
    rows, columns = p.sum(axis=1), p.sum(axis=0)
    observed, expected = float((w * p).sum()), float(rows @ w @ columns)
    check((expected < 1, "table", "one category", "kappa needs at least two categories in use"))
    value = (observed - expected) / (1 - expected)
    marginal = np.add.outer(w @ columns, rows @ w)
    spread = (p * (w - marginal * (1 - value)) ** 2).sum() - (value - expected * (1 - value)) ** 2
    se = sqrt(max(spread, 0.0) / n) / (1 - expected)
    reach = normal_quantile(level) * se
    return Agreement(
        kappa=Interval(
            estimate=value, low=max(value - reach, -1.0), high=min(value + reach, 1.0), level=level
        ),
        se=se,
        observed=observed,
        expected=expected,
        n=round(float(n)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanSquares:
    """Analysis of variance of a complete table of n targets by k judges (in squared units)."""

    targets: float
    judges: float
    residual: float
    within: float
    n: int
    k: int


def mean_squares(ratings: ArrayLike) -> MeanSquares:
    """Return the mean squares of a complete table of ratings.

    Parameters
    ----------
    ratings
        Shape (n, k): one row a target (knee), one column a judge; at least 2 by 2, no gaps.

    Raises
    ------
    InputError
        When the table is too small or holds a gap.
    """
    x = np.atleast_2d(np.asarray(ratings, dtype=np.float64))
    check(
        (min(x.shape) > 1, "ratings", f"shape {x.shape}", "use two rows and two columns or more"),
        (bool(np.isfinite(x).all()), "ratings", "a gap", "leave out targets that a judge did not rate"),
    )
    n, k = x.shape
    of_targets = k * float(((x.mean(axis=1) - x.mean()) ** 2).sum())
    of_judges = n * float(((x.mean(axis=0) - x.mean()) ** 2).sum())
    of_within = float(((x - x.mean(axis=1, keepdims=True)) ** 2).sum())
    return MeanSquares(
        targets=of_targets / (n - 1),
        judges=of_judges / (k - 1),
        residual=max(of_within - of_judges, 0.0) / ((n - 1) * (k - 1)),
        within=of_within / (n * (k - 1)),
        n=n,
        k=k,
    )


def icc(ratings: ArrayLike, *, form: Form, level: float = 0.95) -> Interval:
    """Return an intraclass correlation of Shrout and Fleiss with its interval.

    Parameters
    ----------
    ratings
        As in `mean_squares`; the targets must differ.
    form
        First the design: 1, each target rated by other judges; 2, judges are a sample of all examiners, so
        their bias counts as error; 3, these judges only, bias set aside. Then 1 for the reliability of one
        judge or k for the mean of all. A tool for any examiner needs "2,1".
    level
        Confidence [-].

    Raises
    ------
    InputError
        When the form is unknown, the table is not complete, the targets do not differ or the level is
        out of range.

    References
    ----------
    Shrout and Fleiss 1979 Psychol Bull 86:420-428, doi 10.1037/0033-2909.86.2.420.
    """
    if form not in get_args(Form):
        remedy = suggestion(form, get_args(Form))
        raise InputError.of(place="form", value=form, says="is not a form of ICC", remedy=remedy)
    check(level_claim(level))
    ms, tail = mean_squares(ratings), (1 - level) / 2
    check((ms.targets > 0, "ratings", "no difference", "reliability needs targets that differ"))
    single = _two_way_random(ms, tail) if form[0] == "2" else _ratio_form(ms, tail, one_way=form[0] == "1")
    if form[2] == "k":
        single = tuple(_of_all(r, ms.k) for r in single)
    estimate, low, high = single
    return Interval(estimate=estimate, low=low, high=high, level=level)


def _of_all(single: float, k: int) -> float:
    """Return the reliability of the mean of k judges, by Spearman and Brown: without bound below."""
    below = 1 + (k - 1) * single
    return k * single / below if below > 0 else -inf


def _ratio_form(ms: MeanSquares, tail: float, *, one_way: bool) -> tuple[float, ...]:
    error = ms.within if one_way else ms.residual
    df, df_error = ms.n - 1, (ms.n if one_way else ms.n - 1) * (ms.k - 1)
    stretch = (1.0, scipy.stats.f.isf(tail, df, df_error), 1 / scipy.stats.f.isf(tail, df_error, df))
    return tuple(float((ms.targets - s * error) / (ms.targets + (ms.k - 1) * s * error)) for s in stretch)


def _two_way_random(ms: MeanSquares, tail: float) -> tuple[float, ...]:
    n, k = ms.n, ms.k
    noise = k * ms.judges + (k * n - k - n) * ms.residual
    r = (ms.targets - ms.residual) / (ms.targets + (k - 1) * ms.residual + k * (ms.judges - ms.residual) / n)
    of_judges, of_residual = k * r * ms.judges, (n * (1 + (k - 1) * r) - k * r) * ms.residual
    parts = (n - 1) * of_judges**2 + of_residual**2
    df = (k - 1) * (n - 1) * (of_judges + of_residual) ** 2 / parts if parts else (k - 1) * (n - 1)
    quantiles = (scipy.stats.f.isf(tail, *dfs) for dfs in ((n - 1, df), (df, n - 1)))
    up, down = (min(float(each), _MOST) for each in quantiles)  # without bound as df goes to 0
    low = n * (ms.targets - up * ms.residual) / (up * noise + n * ms.targets)
    high = n * (down * ms.targets - ms.residual) / (noise + n * down * ms.targets)
    return float(r), float(low), float(high)


def _agreement_weights(
    weights: Literal["none", "linear", "quadratic"] | Sequence[Sequence[float]], size: int
) -> NDArray[np.float64]:
    steps = np.abs(np.subtract.outer(np.arange(size), np.arange(size))).astype(np.float64)
    named = {"none": (steps > 0).astype(np.float64), "linear": steps, "quadratic": steps**2}
    if isinstance(weights, str) and weights not in named:
        raise InputError.of(
            place="weights", value=weights, says="is not a kind of weight", remedy=suggestion(weights, named)
        )
    v = named[weights] if isinstance(weights, str) else np.asarray(weights, dtype=np.float64)
    check(
        (v.shape == (size, size), "weights", f"shape {v.shape}", f"use {size} rows and columns"),
        (
            bool((v >= 0).all() and v.any() and not np.diag(v).any()),
            "weights",
            "a weight",
            "0 on the diagonal, none below",
        ),
    )
    return np.asarray(1 - v / v.max(), dtype=np.float64)
