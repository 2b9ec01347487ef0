"""Angoff's method: judges estimate what a just-competent candidate would earn; every round is kept.

Sources: Angoff 1971 (from memory); error of the cut by SD / sqrt(judges) and its understatement after
discussion: MacCann and Stanley, Pract Assess Res Eval 9(5); estimates against what borderline candidates
earned: Goodwin 1999 Appl Meas Educ 12:13-28 (abstract). Fewer than three items give no correlation: ours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, nan, sqrt

import numpy as np

from fabella.assess.marks import Numbers
from fabella.errors import Problems
from fabella.stats import Interval, icc, mean_squares

_ALIKE = 1e-9  # [-]: estimates that differ by less differ by the rounding of sums alone
_FEWEST = 3  # items


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimates:
    """The estimates of one round.

    Parameters
    ----------
    judges, items
        Codes.
    share
        Share of each item's marks that a just-competent candidate earns [-], 0 to 1, one row a judge.
    max_mark
        What each item was worth when it was estimated, weighed [marks]: the exam says what it counts, and
        whether that has changed.
    seen_impact
        True if the judges had seen what the cut of the round before would do.
    """

    judges: tuple[str, ...]
    items: tuple[str, ...]
    share: tuple[tuple[float, ...], ...]
    max_mark: tuple[float, ...]
    seen_impact: bool = False

    def __post_init__(self) -> None:
        _wrong(self).raise_any()

    @property
    def by_item(self) -> bool:
        """Whether items were estimated, named ``station/item``, and not whole stations."""
        return all("/" in each for each in self.items)


@dataclass(frozen=True, slots=True, kw_only=True)
class AngoffRound:
    """What one round of estimates comes to; cuts in percent of the exam.

    Parameters
    ----------
    judges
        Their codes, in the order of what is told of each.
    cut, se
        Mean of the judges' cuts, and SD / sqrt(judges): items fixed, too small if judges have conferred.
    se_items_random
        Error when other items might have been chosen, too.
    judge_cuts
        Each judge's own cut [%].
    severity
        Each judge's cut above the mean of all [%].
    without
        The cut without each judge [%].
    consistency, consistency_of_mean
        Correlation of each judge's estimates, and of their mean, with what sheets graded borderline earned on
        the same items [-]; NaN where fewer than three have such sheets, or either side is alike throughout.
    compared
        Items with sheets graded borderline, over which that is.
    variance_judge, variance_item, variance_residual
        Components of the analysis of variance of judges by items, in squared percent of the item.
    icc_single, icc_mean
        ICC(2,1) and ICC(2,k) of judges over items, with 95 % intervals; None where all items got the same.
    marked_otherwise
        Items that are worth other marks in the exam than when they were estimated, if held against one.
    """

    judges: tuple[str, ...]
    cut: float
    se: float
    se_items_random: float
    judge_cuts: tuple[float, ...]
    severity: tuple[float, ...]
    without: tuple[float, ...]
    consistency: tuple[float, ...]
    consistency_of_mean: float
    compared: int
    variance_judge: float
    variance_item: float
    variance_residual: float
    icc_single: Interval | None
    icc_mean: Interval | None
    marked_otherwise: tuple[str, ...] = ()


def angoff(estimates: Estimates, *, worth: Sequence[float], borderline: Sequence[float] = ()) -> AngoffRound:
    """Return what one round comes to.

    Parameters
    ----------
    estimates
        At least two judges and two items, or stations.
    worth
        What each item counts of the exam, from 0, in any unit; 0 for one that was void.
    borderline
        Share of its marks that sheets graded borderline earned on each item [-]; NaN for an item without
        such sheets, empty when there are no marks.
    """
    share, counts = np.array(estimates.share), np.array(worth) / fsum(worth)
    n_judges, n_items = share.shape
    cuts = [100 * fsum(row * counts) for row in share]  # summed exactly: it decides
    cut, se = fsum(cuts) / n_judges, float(np.std(cuts, ddof=1)) / sqrt(n_judges)
    ms = mean_squares(100 * share.T)
    expected = share.mean(axis=0)
    # other items that count as much: how the items' shares differ beyond what judges leave over
    beyond = 1e4 * float(expected.var(ddof=1)) - ms.residual / n_judges
    earned = np.array(borderline or (nan,) * n_items)
    varied = np.ptp(expected) > _ALIKE
    return AngoffRound(
        judges=estimates.judges,
        cut=cut,
        se=se,
        se_items_random=sqrt(se**2 + max(beyond, 0.0) * float((counts**2).sum())),
        judge_cuts=tuple(cuts),
        severity=tuple(each - cut for each in cuts),
        without=tuple((n_judges * cut - each) / (n_judges - 1) for each in cuts),
        consistency=tuple(_correlation(row, earned) for row in share),
        consistency_of_mean=_correlation(expected, earned),
        compared=int((~np.isnan(earned)).sum()),
        variance_judge=(ms.judges - ms.residual) / n_items,
        variance_item=(ms.targets - ms.residual) / n_judges,
        variance_residual=ms.residual,
        icc_single=icc(share.T, form="2,1") if varied else None,
        icc_mean=icc(share.T, form="2,k") if varied else None,
    )


def _correlation(expected: Numbers, earned: Numbers) -> float:
    there = ~np.isnan(earned)
    x, y = expected[there], earned[there]
    if len(x) < _FEWEST or np.ptp(x) <= _ALIKE or np.ptp(y) <= _ALIKE:
        return nan
    return float(np.corrcoef(x, y)[0, 1])


def _wrong(estimates: Estimates) -> Problems:
    wrong = Problems()
    n_judges, n_items = len(estimates.judges), len(estimates.items)
    if n_judges < 2 or n_items < 2:
        wrong.add("estimates", "", "are too few", "use at least two judges and two items")
    if len(estimates.max_mark) != n_items:
        wrong.add("max_mark", str(len(estimates.max_mark)), "do not fit", f"use {n_items}, one an item")
    if len(estimates.share) != n_judges:
        wrong.add("share", f"{len(estimates.share)} rows", "do not fit", f"use {n_judges}, one a judge")
    for judge, row in zip(estimates.judges, estimates.share, strict=False):
        if len(row) != n_items:
            wrong.add(judge, f"{len(row)} estimates", "do not fit", f"use {n_items}, one an item")
        for item, value in zip(estimates.items, row, strict=False):
            if not 0 <= value <= 1:
                wrong.add(f"{judge}.{item}", str(value), "is out of range", "use a share from 0 to 1")
    return wrong
