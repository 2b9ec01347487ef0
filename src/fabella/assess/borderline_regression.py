"""Borderline regression: the score that the line of score on grade gives a borderline performance.

Source: described for small exams by Wood, Humphrey-Murto and Norman 2006 Adv Health Sci Educ 11:115-122,
doi 10.1007/s10459-005-7853-1 (abstract); standard error of a point on a line: any textbook of regression.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import fsum, nan, sqrt

import numpy as np
import scipy
from numpy.typing import NDArray

from fabella.assess.marks import Numbers
from fabella.assess.rounding import DIGITS, vary
from fabella.stats import Interval

_LEVEL = 0.95
FEW_ON_A_LINE = 5  # sheets at the borderline grade; our default
SMALL_COHORT = 50  # below it a resampling study judged the method unacceptable (Pell 2016)
CURVED = 0.03  # gain in R2 by a quadratic term, if also p < 0.05, as in a large cohort any is; our default


class LineFlag(StrEnum):
    """Why a pass mark by borderline regression should be looked at before it is used."""

    EXTRAPOLATED = "extrapolated"
    FEW_BORDERLINE = "few_borderline"
    SMALL_COHORT = "small_cohort"
    NOT_RISING = "not_rising"
    OUTSIDE_SCORES = "outside_scores"
    CURVED = "curved"
    NO_LINE = "no_line"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """A sheet whose grade and score fall on different sides, by its position among those given."""

    sheet: int
    grade: float
    score: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The regression of score on global grade at one station.

    Parameters
    ----------
    cut
        The line at the borderline grade, with its 95 % interval by t; in the unit of the scores.
    se
        Standard error of the cut by formula, same unit.
    intercept, slope
        Of the line; the slope is the inter-grade discrimination [unit of the scores per grade].
    r2
        Share of the variance of the scores that the grades explain [-].
    residual_sd
        Same unit.
    n
        Sheets with both a score and a grade.
    per_grade
        How many of them at each grade of the scale.
    r2_gain, p_curved
        What a quadratic term adds to R2, and its p value [-]; NaN with fewer than three grades in use.
    flags
        What should be looked at.
    contradictions
        Graded below borderline with a score at or above the cut, or above borderline with one below it.
    """

    cut: Interval
    se: float
    intercept: float
    slope: float
    r2: float
    residual_sd: float
    n: int
    per_grade: tuple[int, ...]
    r2_gain: float
    p_curved: float
    flags: tuple[LineFlag, ...]
    contradictions: tuple[Contradiction, ...]


def fit_line(
    score: Numbers,
    grade: Numbers,
    *,
    borderline: float,
    values: tuple[float, ...],
) -> Line:
    """Return the regression of score on grade, and the cut at the borderline grade.

    Score is regressed on grade, not grade on score: the other way round gives another cut.

    Parameters
    ----------
    score, grade
        One entry a sheet, shape (n,); NaN where either is missing, which leaves the sheet out.
    borderline
        Grade that means borderline.
    values
        All grades of the scale in rising order.
    """
    there = ~(np.isnan(score) | np.isnan(grade))
    y, g = score[there], grade[there]
    per_grade = tuple(int((g == value).sum()) for value in values)
    n = len(y)
    if n < 3 or np.ptp(g) == 0:
        return _no_line(n, per_grade)
    mean_g, mean_y = fsum(g) / n, fsum(y) / n
    s_gg = fsum((g - mean_g) ** 2)
    slope = fsum((g - mean_g) * (y - mean_y)) / s_gg
    cut = mean_y + slope * (borderline - mean_g)
    sse = fsum((y - mean_y - slope * (g - mean_g)) ** 2)
    sst = fsum((y - mean_y) ** 2) if vary(y) else 0.0
    residual_sd = sqrt(sse / (n - 2))
    se = residual_sd * sqrt(1 / n + (borderline - mean_g) ** 2 / s_gg)
    reach = float(scipy.special.stdtrit(n - 2, (1 + _LEVEL) / 2)) * se
    gain, p_curved = _curvature(y, g, sse, sst)
    shown, bar = np.round(y, DIGITS), round(cut, DIGITS)
    flags = {
        LineFlag.EXTRAPOLATED: not g.min() <= borderline <= g.max(),
        LineFlag.FEW_BORDERLINE: per_grade[values.index(borderline)] < FEW_ON_A_LINE,
        LineFlag.SMALL_COHORT: n < SMALL_COHORT,
        LineFlag.NOT_RISING: slope <= 0,
        LineFlag.OUTSIDE_SCORES: not shown.min() <= bar <= shown.max(),
        LineFlag.CURVED: gain > CURVED and p_curved < 0.05,
    }
    at = np.flatnonzero(there)
    wrong = ((g < borderline) & (shown >= bar)) | ((g > borderline) & (shown < bar))
    return Line(
        cut=Interval(estimate=cut, low=cut - reach, high=cut + reach, level=_LEVEL),
        se=se,
        intercept=mean_y - slope * mean_g,
        slope=slope,
        r2=1 - sse / sst if sst > 0 else nan,
        residual_sd=residual_sd,
        n=n,
        per_grade=per_grade,
        r2_gain=gain,
        p_curved=p_curved,
        flags=tuple(flag for flag, holds in flags.items() if holds),
        contradictions=tuple(
            Contradiction(sheet=int(at[k]), grade=float(g[k]), score=float(y[k]))
            for k in np.flatnonzero(wrong)
        ),
    )


def bootstrap_cuts(
    score: Numbers,
    grade: Numbers,
    *,
    candidate: NDArray[np.int32],
    station: NDArray[np.int32],
    n_stations: int,
    counts: Numbers,
    borderline: float,
) -> Numbers:
    """Return the cut of each station in each resample of whole candidates, shape (times, stations).

    One product of matrices gives the sums of every resample; NaN where a resample gives no line.

    Parameters
    ----------
    score, grade, candidate, station
        One entry a sheet of the exam, shape (sheets,); NaN leaves a sheet out.
    n_stations
        Number of stations.
    counts
        How often each candidate is drawn, shape (times, candidates), as by `resample`.
    borderline
        Grade that means borderline.
    """
    there = ~(np.isnan(score) | np.isnan(grade))
    n = counts.shape[1]
    place = candidate[there].astype(np.int64) * n_stations + station[there]
    y, g = score[there], grade[there] - borderline  # the cut is then the intercept
    one = np.ones_like(y)
    sums = [
        counts @ np.bincount(place, each, n * n_stations).reshape(n, n_stations)
        for each in (one, g, g * g, y, g * y)
    ]
    number, sum_g, sum_gg, sum_y, sum_gy = sums
    spread = number * sum_gg - sum_g**2
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(spread > 1e-9, (sum_gg * sum_y - sum_g * sum_gy) / spread, np.nan)


def _curvature(y: Numbers, g: Numbers, sse: float, sst: float) -> tuple[float, float]:
    if len(np.unique(g)) < 3 or len(y) < 5 or not sst > 0:
        return nan, nan
    design = np.stack([np.ones_like(g), g - g.mean(), (g - g.mean()) ** 2], axis=1)
    fitted, *_ = np.linalg.lstsq(design, y, rcond=None)
    rest = float(((y - design @ fitted) ** 2).sum())
    gain, df = (sse - rest) / sst, len(y) - 3
    if rest <= 1e-12 * sst:
        return gain, nan
    return gain, float(scipy.special.fdtrc(1, df, max(sse - rest, 0.0) / (rest / df)))


def _no_line(n: int, per_grade: tuple[int, ...]) -> Line:
    return Line(
        cut=Interval(estimate=nan, low=nan, high=nan, level=_LEVEL),
        se=nan,
        intercept=nan,
        slope=nan,
        r2=nan,
        residual_sd=nan,
        n=n,
        per_grade=per_grade,
        r2_gain=nan,
        p_curved=nan,
        flags=(LineFlag.NO_LINE,),
        contradictions=(),
    )
