"""Angoff's method: judges estimate what a just-competent candidate would earn; every round is kept.

Sources: Angoff 1971 (from memory); error of the cut by SD / sqrt(judges) and its understatement after
discussion: MacCann and Stanley, Pract Assess Res Eval 9(5).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import nan, sqrt
from typing import Literal

import numpy as np

from fabella.assess.blueprint import Blueprint
from fabella.assess.marks import Numbers
from fabella.errors import InputError, Problem
from fabella.stats import Interval, icc, mean_squares

Middle = Literal["mean", "median", "trimmed"]
_ALIKE = 1e-9  # [-]: estimates that differ by less differ by the rounding of sums alone
_TRIMMED = 0.1  # share of judges cut off at either end, at least one


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
        What each item is worth [marks].
    seen_impact
        True if the judges had seen what the cut of the round before would do.
    """

    judges: tuple[str, ...]
    items: tuple[str, ...]
    share: tuple[tuple[float, ...], ...]
    max_mark: tuple[float, ...]
    seen_impact: bool = False

    def __post_init__(self) -> None:
        if wrong := _wrong(self):
            raise InputError(wrong)


@dataclass(frozen=True, slots=True, kw_only=True)
class AngoffRound:
    """What one round of estimates comes to; cuts in marks.

    Parameters
    ----------
    cut, se
        Middle of the judges' cuts, and SD / sqrt(judges): items fixed, too small if judges have conferred.
    se_items_random
        Error when other items might have been chosen, too.
    judge_cuts
        Each judge's own cut [marks].
    severity
        Each judge's cut above the mean of all [marks].
    consistency
        Correlation of each judge's estimates with the observed facility of the items among candidates near
        the cut [-]; NaN without such facilities.
    without
        The cut without each judge [marks].
    variance_judge, variance_item, variance_residual
        Components of the analysis of variance of judges by items, in squared percent of the item.
    icc_single, icc_mean
        ICC(2,1) and ICC(2,k) of judges over items, with 95 % intervals; None where all items got the same.
    """

    cut: float
    se: float
    se_items_random: float
    judge_cuts: tuple[float, ...]
    severity: tuple[float, ...]
    consistency: tuple[float, ...]
    without: tuple[float, ...]
    variance_judge: float
    variance_item: float
    variance_residual: float
    icc_single: Interval | None
    icc_mean: Interval | None


def angoff(
    estimates: Estimates, *, middle: Middle = "mean", facility: tuple[float, ...] | None = None
) -> AngoffRound:
    """Return what one round comes to.

    Parameters
    ----------
    estimates
        At least two judges and two items.
    middle
        Mean of the judges' cuts, median, or mean without a tenth at either end; declare it beforehand. The
        standard error is that of the mean.
    facility
        Observed share of the marks of each item among candidates near the cut [-].
    """
    share, worth = np.array(estimates.share), np.array(estimates.max_mark)
    n_judges, n_items = share.shape
    cuts = share @ worth
    ms = mean_squares(100 * share.T)
    residual = ms.residual
    of_judges, of_items = (ms.judges - residual) / n_items, (ms.targets - residual) / n_judges
    se = float(cuts.std(ddof=1)) / sqrt(n_judges)
    # other items of the same worth: how the items' shares differ beyond what judges leave over, in marks
    between_items = float(share.mean(axis=0).var(ddof=1)) * float((worth**2).sum())
    noise = residual / 1e4 * float((worth**2).sum()) / n_judges
    varied = np.ptp(share.mean(axis=0)) > _ALIKE
    return AngoffRound(
        cut=_middle(cuts, middle),
        se=se,
        se_items_random=sqrt(se**2 + max(between_items - noise, 0.0)),
        judge_cuts=tuple(map(float, cuts)),
        severity=tuple(map(float, cuts - cuts.mean())),
        consistency=tuple(_correlation(row, facility) for row in share),
        without=tuple(_middle(np.delete(cuts, j), middle) for j in range(n_judges)),
        variance_judge=of_judges,
        variance_item=of_items,
        variance_residual=residual,
        icc_single=icc(share.T, form="2,1") if varied else None,
        icc_mean=icc(share.T, form="2,k") if varied else None,
    )


def modified_angoff(
    rounds: tuple[Estimates, ...], *, facility: tuple[float, ...] | None = None
) -> tuple[AngoffRound, ...]:
    """Return every round in order; the last one sets the cut."""
    return tuple(angoff(each, facility=facility) for each in rounds)


def judged_share(blueprint: Blueprint, estimates: Estimates) -> Numbers:
    """Return the share of each station's marks that each judge expects, shape (judges, stations).

    Parameters
    ----------
    blueprint
        The exam.
    estimates
        Of every station by its code, or of every item as ``station/item``; their maxima are the exam's.

    Raises
    ------
    InputError
        When they name neither all stations nor all items.
    """
    share = np.array(estimates.share)
    by_item = [f"{s.code}/{item.code}" for s in blueprint.stations for item in s.items]
    for names in (list(blueprint.station_codes), by_item):
        if sorted(estimates.items) == sorted(names):
            share = share[:, [estimates.items.index(name) for name in names]]
            if names is not by_item:
                return share
            worth = [np.array([i.weight * i.max_mark for i in s.items]) for s in blueprint.stations]
            ends = np.cumsum([len(each) for each in worth])
            parts = np.split(share, ends[:-1], axis=1)
            return np.stack([p @ w / w.sum() for p, w in zip(parts, worth, strict=True)], axis=1)
    missing = sorted(set(blueprint.station_codes) - set(estimates.items))
    remedy = "estimate every station by its code, or every item as station/item"
    raise InputError(
        [Problem(place="estimates", value=", ".join(missing), says="are not estimated", remedy=remedy)]
    )


def _middle(cuts: Numbers, middle: Middle) -> float:
    if middle == "median":
        return float(np.median(cuts))
    if middle == "trimmed" and len(cuts) > 2:
        out = max(1, int(_TRIMMED * len(cuts)))
        return float(np.sort(cuts)[out : len(cuts) - out].mean())
    return float(cuts.mean())


def _correlation(row: Numbers, facility: tuple[float, ...] | None) -> float:
    if facility is None or np.ptp(row) <= _ALIKE or np.ptp(facility) <= _ALIKE:
        return nan
    return float(np.corrcoef(row, facility)[0, 1])


def _wrong(estimates: Estimates) -> list[Problem]:
    wrong = []
    n_judges, n_items = len(estimates.judges), len(estimates.items)
    if n_judges < 2 or n_items < 2:
        remedy = "use at least two judges and two items"
        wrong.append(Problem(place="estimates", value="", says="are too few", remedy=remedy))
    if len(estimates.max_mark) != n_items:
        remedy = f"use {n_items}, one an item"
        wrong.append(
            Problem(place="max_mark", value=str(len(estimates.max_mark)), says="do not fit", remedy=remedy)
        )
    if len(estimates.share) != n_judges:
        remedy = f"use {n_judges}, one a judge"
        wrong.append(
            Problem(place="share", value=f"{len(estimates.share)} rows", says="do not fit", remedy=remedy)
        )
    for judge, row in zip(estimates.judges, estimates.share, strict=False):
        if len(row) != n_items:
            remedy = f"use {n_items}, one an item"
            wrong.append(
                Problem(place=judge, value=f"{len(row)} estimates", says="do not fit", remedy=remedy)
            )
        for item, value in zip(estimates.items, row, strict=False):
            if not 0 <= value <= 1:
                remedy = "use a share from 0 to 1"
                wrong.append(
                    Problem(place=f"{judge}.{item}", value=str(value), says="is out of range", remedy=remedy)
                )
    return wrong
