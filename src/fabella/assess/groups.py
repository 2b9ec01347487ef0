"""Pass marks from groups of candidates: the borderline group, and two contrasting groups.

Sources: Livingston and Zieky 1983 ETS-RR-83-38 (contrasting groups depend on the sizes of the groups);
borderline group by mean or median with its standard error: common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import log, nan, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fabella.assess.marks import Numbers
from fabella.assess.resampled_groups import logistic_cuts
from fabella.assess.rounding import vary

FEW_IN_A_GROUP = 10  # sheets graded borderline; our default


class GroupFlag(StrEnum):
    """Why a pass mark from groups should be looked at before it is used."""

    FEW_BORDERLINE = "few_borderline"
    NO_GROUP = "no_group"
    NO_CROSSING = "no_crossing"
    SEPARATED = "separated"
    UNEVEN = "uneven"


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupCut:
    """A pass mark from groups.

    Parameters
    ----------
    cut, se
        In the unit of the scores; the error is NaN where only resampling can give it.
    n
        Candidates in the smaller of the groups it rests on.
    flags
        What should be looked at.
    """

    cut: float
    se: float
    n: int
    flags: tuple[GroupFlag, ...] = ()


def borderline_group(
    score: Numbers,
    grade: Numbers,
    *,
    borderline: float,
    middle: Literal["mean", "median"] = "mean",
) -> GroupCut:
    """Return the mean or median score of the sheets graded borderline.

    Parameters
    ----------
    score, grade
        One entry a sheet, shape (n,); NaN where either is missing.
    borderline
        Grade that means borderline.
    middle
        Mean, whose error is SD / sqrt(n), or median, whose error must be resampled.
    """
    group = score[(grade == borderline) & ~np.isnan(score)]
    n = len(group)
    if not n:
        return GroupCut(cut=nan, se=nan, n=0, flags=(GroupFlag.NO_GROUP,))
    se = float(group.std(ddof=1)) / sqrt(n) if middle == "mean" and n > 1 else nan
    cut = float(group.mean() if middle == "mean" else np.median(group))
    return GroupCut(cut=cut, se=se, n=n, flags=(GroupFlag.FEW_BORDERLINE,) if n < FEW_IN_A_GROUP else ())


def contrasting_groups(
    score: Numbers,
    competent: NDArray[np.bool_],
    *,
    rule: Literal["intersection", "logistic", "least_loss"],
    false_pass: float = 1.0,
    false_fail: float = 1.0,
) -> GroupCut:
    """Return the score that best parts those judged competent from the others.

    Parameters
    ----------
    score
        One entry a candidate, shape (n,), no gaps.
    competent
        Judged without sight of the score, shape (n,).
    rule
        ``intersection``: where two normal densities, weighted by group size, cross between their means;
        ``logistic``: where logistic regression gives even chances; ``least_loss``: the observed score that,
        as pass mark, has the least weighted number of errors (the lowest such score).
    false_pass, false_fail
        Loss by passing one not competent and by failing one competent [-]; only for ``least_loss``.
    """
    passing, failing = score[competent], score[~competent]
    n = min(len(passing), len(failing))
    if n < 2 or not (vary(passing, among=score) and vary(failing, among=score)):
        return GroupCut(cut=nan, se=nan, n=n, flags=(GroupFlag.NO_GROUP,))
    uneven = (GroupFlag.UNEVEN,) if max(len(passing), len(failing)) > 2 * n else ()
    if rule == "intersection":
        cut, flags = _intersection(failing, passing)
    elif rule == "logistic":
        cut, flags = _logistic(score, competent)
    else:
        cut, flags = _least_loss(score, competent, false_pass, false_fail), ()
    return GroupCut(cut=cut, se=nan, n=n, flags=(*flags, *uneven))


def _intersection(failing: Numbers, passing: Numbers) -> tuple[float, tuple[GroupFlag, ...]]:
    low, high = float(failing.mean()), float(passing.mean())
    spread_low, spread_high = float(failing.std(ddof=1)), float(passing.std(ddof=1))
    # ln(share density) of either group is a + b c + d c^2; their difference is a quadratic in c
    d = 1 / (2 * spread_high**2) - 1 / (2 * spread_low**2)
    b = low / spread_low**2 - high / spread_high**2
    a = log(len(failing) / len(passing)) - log(spread_low / spread_high)
    a += high**2 / (2 * spread_high**2) - low**2 / (2 * spread_low**2)
    roots = np.roots([d, b, a] if abs(d) > 1e-15 else [b, a])  # none where the curves are one and the same
    between = [float(r.real) for r in roots if abs(r.imag) < 1e-9 and low <= r.real <= high]
    return (between[0], ()) if between else (nan, (GroupFlag.NO_CROSSING,))


def _logistic(score: Numbers, competent: NDArray[np.bool_]) -> tuple[float, tuple[GroupFlag, ...]]:
    values, place = np.unique(score, return_inverse=True)
    down, up = (
        np.bincount(place[group], minlength=len(values))[None, :].astype(np.float64)
        for group in (~competent, competent)
    )
    cut = float(logistic_cuts(values, down, up)[0])
    separated = score[competent].min() >= score[~competent].max()
    flags = {GroupFlag.SEPARATED: bool(separated), GroupFlag.NO_CROSSING: np.isnan(cut)}
    return cut, tuple(flag for flag, holds in flags.items() if holds)


def _least_loss(score: Numbers, competent: NDArray[np.bool_], false_pass: float, false_fail: float) -> float:
    cuts = np.unique(score)
    passed = score[None, :] >= cuts[:, None]
    loss = false_pass * (passed & ~competent).sum(axis=1) + false_fail * (~passed & competent).sum(axis=1)
    return float(cuts[np.argmin(loss)])
