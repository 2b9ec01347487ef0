"""Pass marks from groups of candidates in every resample at once.

Scores at a station take few values. How often each value occurs in each group of each resample is one product
of matrices, and everything else is arithmetic on those counts.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fabella.assess.marks import Numbers

_TURNS = 60
_LONGEST_STEP = 2.0  # Newton's method may overshoot where the groups hardly overlap


def bootstrap_borderline_group(
    score: Numbers, *, candidate: NDArray[np.int32], counts: Numbers, middle: Literal["mean", "median"]
) -> Numbers:
    """Return the middle score of the borderline sheets in each resample; NaN where it has none.

    Sheets of a single candidate give none at all: drawn again they are the same, which tells of no error.

    Parameters
    ----------
    score, candidate
        One entry a sheet graded borderline, shape (n,), no gaps.
    counts
        As by `resample`, shape (times, candidates).
    middle
        Mean or median.
    """
    if len(np.unique(candidate)) < 2:
        return np.full(len(counts), np.nan)
    values, number = _counts(score, candidate, counts)
    total = number.sum(axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        if middle == "mean":
            return np.asarray(np.where(total > 0, number @ values / total, np.nan))
    running = np.cumsum(number, axis=1)
    half = total[:, None] / 2
    low, high = values[np.argmax(running >= half, axis=1)], values[np.argmax(running > half, axis=1)]
    return np.where(total > 0, (low + high) / 2, np.nan)


def bootstrap_contrasting(
    score: Numbers,
    competent: NDArray[np.bool_],
    *,
    candidate: NDArray[np.int32],
    counts: Numbers,
    rule: Literal["intersection", "logistic", "least_loss"],
    false_pass: float = 1.0,
    false_fail: float = 1.0,
) -> Numbers:
    """Return the cut of two contrasting groups in each resample; NaN where it has none.

    Parameters as in `contrasting_groups`, with `candidate` and `counts` as in `bootstrap_borderline_group`.
    """
    values = np.unique(score)
    if not len(values):
        return np.full(len(counts), np.nan)
    up = _counts(score[competent], candidate[competent], counts, values)[1]
    down = _counts(score[~competent], candidate[~competent], counts, values)[1]
    if rule == "intersection":
        return _intersections(values, down, up)
    if rule == "logistic":
        return logistic_cuts(values, down, up)
    below = np.cumsum(up, axis=1) - up
    at_or_above = down.sum(axis=1, keepdims=True) - np.cumsum(down, axis=1) + down
    return np.asarray(values[np.argmin(false_pass * at_or_above + false_fail * below, axis=1)])


def _counts(
    score: Numbers, candidate: NDArray[np.int32], counts: Numbers, values: Numbers | None = None
) -> tuple[Numbers, Numbers]:
    values = np.unique(score) if values is None else values
    n = counts.shape[1]
    place = candidate.astype(np.int64) * len(values) + np.searchsorted(values, score)
    table = np.bincount(place, minlength=n * len(values)).reshape(n, len(values))
    return values, counts @ table.astype(np.float64)


def _moments(values: Numbers, number: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    total = number.sum(axis=1)
    mean = number @ values / total
    variance = (number @ values**2 - total * mean**2) / (total - 1)
    varies = (number > 0).sum(axis=1) > 1  # the same score drawn again has no spread, though its sums round
    return total, mean, np.where(varies, variance, np.nan)


def _intersections(values: Numbers, down: Numbers, up: Numbers) -> Numbers:
    middle = values.mean()  # squares of scores far from 0 would take their differences with them
    values = values - middle
    with np.errstate(invalid="ignore", divide="ignore"):
        n_low, low, var_low = _moments(values, down)
        n_high, high, var_high = _moments(values, up)
        d = 1 / (2 * var_high) - 1 / (2 * var_low)
        b = low / var_low - high / var_high
        a = np.log(n_low / n_high) - np.log(var_low / var_high) / 2
        a += high**2 / (2 * var_high) - low**2 / (2 * var_low)
        root = np.sqrt(b * b - 4 * d * a)
        # the two roots without loss of digits when the curves are equally wide
        q = -0.5 * (b + np.copysign(root, b))
        first, second = q / d, a / q
        inside = [np.where((r >= low) & (r <= high), r, np.nan) for r in (first, second)]
    return np.asarray(middle + np.where(np.isnan(inside[0]), inside[1], inside[0]))


def logistic_cuts(values: Numbers, down: Numbers, up: Numbers) -> Numbers:
    """Return where logistic regression gives even chances; halfway where a gap parts the groups.

    Newton's method for all resamples together, on the standardised score.

    Parameters
    ----------
    values
        Distinct scores in rising order, shape (values,).
    down, up
        How many not competent and competent have each, shape (resamples, values).
    """
    if not len(values):
        return np.full(len(up), np.nan)
    mean, spread = float(values.mean()), float(values.std()) or 1.0
    x = (values - mean) / spread
    number = down + up
    beta0, beta1 = np.zeros(len(up)), np.zeros(len(up))
    with np.errstate(all="ignore"):
        for _ in range(_TURNS):
            chance = 1 / (1 + np.exp(-(beta0[:, None] + beta1[:, None] * x)))
            rest, weight = up - number * chance, number * chance * (1 - chance)
            w0, w1, w2 = weight.sum(axis=1), weight @ x, weight @ x**2
            r0, r1 = rest.sum(axis=1), rest @ x
            whole = w0 * w2 - w1**2
            step0, step1 = (w2 * r0 - w1 * r1) / whole, (w0 * r1 - w1 * r0) / whole
            longest = np.maximum(np.abs(step0), np.abs(step1))
            held = np.minimum(1.0, _LONGEST_STEP / longest)
            beta0, beta1 = beta0 + held * step0, beta1 + held * step1
            if not (np.abs(np.stack([step0, step1])) > 1e-10).any():
                break
        settled = (np.abs(step0) < 1e-6) & (np.abs(step1) < 1e-6) & (beta1 > 0)
        found = np.where(settled, mean - spread * beta0 / beta1, np.nan)
    top_down = values[len(values) - 1 - np.argmax(down[:, ::-1] > 0, axis=1)]
    bottom_up = values[np.argmax(up > 0, axis=1)]
    apart = (top_down <= bottom_up) & down.any(axis=1) & up.any(axis=1)
    return np.where(apart, (top_down + bottom_up) / 2, found)
