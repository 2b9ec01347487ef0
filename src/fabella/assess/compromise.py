"""Pass marks that look at the cohort: Hofstee's compromise, and Cohen's share of the best.

Sources: Hofstee 1983 (from memory); the second as first described and as modified by Taylor 2011 Med Teach
33:e678-82.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from fabella.assess.marks import Numbers
from fabella.errors import Problems

SMALL_COHORT = 50  # our default


class CohortFlag(StrEnum):
    """Why a pass mark that rests on the cohort should be looked at before it is used."""

    FAILS_EXCEED = "fails_exceed_most"
    FAILS_BELOW = "fails_below_least"
    ON_A_JUMP = "on_a_jump"
    SMALL_COHORT = "small_cohort"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What one judge of Hofstee's method finds acceptable: cuts in the unit of the scores, shares [-].

    ``judge`` is a code, empty where nobody is named.
    """

    lowest_cut: float
    highest_cut: float
    least_fails: float
    most_fails: float
    judge: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CohortCut:
    """A pass mark that rests on the cohort.

    Parameters
    ----------
    cut
        In the unit of the scores.
    fails
        Share that scores below the cut [-].
    fails_above
        Share that would fail if the cut were a shade higher [-]: more than `fails` when someone scored it.
    n
        Candidates.
    flags
        What should be looked at.
    """

    cut: float
    fails: float
    fails_above: float
    n: int
    flags: tuple[CohortFlag, ...]


def hofstee(score: Numbers, judges: Sequence[Bounds]) -> CohortCut:
    """Return where the curve of failures meets the line between the judges' averaged bounds.

    The curve F(c) is the share below c, a staircase; the line falls from (lowest cut, most fails) to (highest
    cut, least fails). The cut is the smallest c at which the curve, its steps taken as upright, reaches the
    line. Where they do not meet, the nearer bound is returned and flagged, never a point beyond.

    Parameters
    ----------
    score
        One entry a candidate, shape (n,), no gaps.
    judges
        At least one.

    Raises
    ------
    InputError
        When a judge's bounds are the wrong way round or no shares.
    """
    values, counts = np.unique(score, return_counts=True)
    cut, flag = hofstee_cuts(values, counts[None, :].astype(np.float64), judges)
    return _cohort_cut(np.sort(score), float(cut[0]), *(flag[0],) if flag[0] else ())


def hofstee_cuts(
    values: Numbers, counts: Numbers, judges: Sequence[Bounds]
) -> tuple[Numbers, tuple[CohortFlag | None, ...]]:
    """Return the cut, and what is to be flagged, for several cohorts at once; NaN for one of nobody.

    Parameters
    ----------
    values
        Distinct scores in rising order, shape (values,).
    counts
        How many have each, shape (cohorts, values).
    judges
        As in `hofstee`.
    """
    _check(judges)
    low, high = (float(np.mean([getattr(j, name) for j in judges])) for name in ("lowest_cut", "highest_cut"))
    least, most = (
        float(np.mean([getattr(j, name) for j in judges])) for name in ("least_fails", "most_fails")
    )
    edges = np.concatenate([[low], values[(values > low) & (values < high)], [high]])
    slope = (least - most) / (high - low) if high > low else 0.0
    line = most + slope * (edges - low)
    upto = np.concatenate([np.zeros((len(counts), 1)), np.cumsum(counts, axis=1)], axis=1)
    with np.errstate(invalid="ignore"):
        upto = upto / upto[:, -1:]  # NaN for a cohort of nobody
    level = upto[:, np.searchsorted(values, edges, side="right")]  # the curve from each edge to the next
    left, right = line[:-1], line[1:]
    meets = level[:, :-1] >= right
    at = np.argmax(meets, axis=1)
    row = np.arange(len(counts))
    height = level[row, at]
    with np.errstate(over="ignore"):  # a line as good as level, far from where it is met
        crossing = low + (height - most) / slope if slope else np.full(len(counts), low)
    cut = np.where(height >= left[at], edges[at], crossing)
    cut = np.where(meets.any(axis=1), cut, high)
    exceed = upto[:, np.searchsorted(values, low, side="left")] > most
    below = level[:, -1] < least
    cut = np.where(exceed, low, np.where(below, high, cut))
    cut = np.where(np.isnan(upto[:, -1]), np.nan, cut)
    flags = tuple(
        CohortFlag.FAILS_EXCEED if over else CohortFlag.FAILS_BELOW if under else None
        for over, under in zip(exceed, below, strict=True)
    )
    return cut, flags


def cohen(score: Numbers, *, guessing: float = 0.0, share: float = 0.60, percentile: float = 95) -> CohortCut:
    """Return a share of the best candidates' score as pass mark: C + share (P - C).

    Parameters
    ----------
    score
        One entry a candidate, shape (n,), no gaps.
    guessing
        Score that guessing gives, C; 0 at observed stations.
    share
        0.60 as first described [-]; in the modified form an earlier trusted cut over that exam's percentile.
    percentile
        95 as first described, 90 in the modified form, which also leaves out guessing [%]. Between two
        candidates it is interpolated; in a small cohort that moves the mark.
    """
    values, counts = np.unique(score, return_counts=True)
    cut = cohen_cuts(
        values, counts[None, :].astype(np.float64), guessing=guessing, share=share, percentile=percentile
    )
    return _cohort_cut(np.sort(score), float(cut[0]))


def cohen_cuts(
    values: Numbers, counts: Numbers, *, guessing: float, share: float, percentile: float
) -> Numbers:
    """Return the cut for several cohorts at once; NaN for one of nobody.

    Parameters as in `hofstee_cuts` and `cohen`.
    """
    running = np.cumsum(counts, axis=1)
    place = percentile / 100 * (running[:, -1] - 1)
    first = np.floor(place)
    low, high = (
        values[np.argmax(running > np.minimum(rank, running[:, -1] - 1)[:, None], axis=1)]
        for rank in (first, first + 1)
    )
    best = low + (place - first) * (high - low)
    cuts = guessing + share * (best - guessing)
    return np.asarray(np.where(running[:, -1] > 0, cuts, np.nan), dtype=np.float64)


def _cohort_cut(ordered: Numbers, cut: float, *flags: CohortFlag) -> CohortCut:
    fails, above = (
        float(np.searchsorted(ordered, cut, side=side)) / len(ordered) for side in ("left", "right")
    )
    more = [CohortFlag.ON_A_JUMP] if above > fails else []
    more += [CohortFlag.SMALL_COHORT] if len(ordered) < SMALL_COHORT else []
    return CohortCut(cut=cut, fails=fails, fails_above=above, n=len(ordered), flags=(*flags, *more))


def _check(judges: Sequence[Bounds]) -> None:
    wrong = Problems()
    if not judges:
        wrong.add("judges", "", "are missing", "use at least one")
    for number, judge in enumerate(judges, start=1):
        if not judge.lowest_cut <= judge.highest_cut:
            remedy = f"use at least {judge.lowest_cut:g}"
            wrong.add(f"judge {number}, highest cut", f"{judge.highest_cut:g}", "is too low", remedy)
        if not 0 <= judge.least_fails <= judge.most_fails <= 1:
            remedy = "use two shares from 0 to 1, the smaller first"
            text = f"{judge.least_fails:g} to {judge.most_fails:g}"
            wrong.add(f"judge {number}, fails", text, "is out of range", remedy)
    wrong.raise_any()
