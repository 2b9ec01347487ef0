"""How each item of a station works: how easy it is, and whether it parts the able from the others.

Sources: facility, corrected item-total and point-biserial correlation, upper and lower 27 %: textbook algebra
(Kelley 1939 for the 27 %, from memory). Limits of the flags are our defaults.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import nan, sqrt

import numpy as np

from fabella.assess.blueprint import item_table
from fabella.assess.marks import Marks, Numbers, State

EASY, HARD = 0.95, 0.20
LEAST_R = 0.10
MOST_UNSEEN = 0.20
_DIGITS = 9  # of sums of marks: what differs beyond, differs by the rounding of weights alone
_TAIL = 0.27


class ItemFlag(StrEnum):
    """Why an item should be looked at."""

    TOO_EASY = "too_easy"
    TOO_HARD = "too_hard"
    MISLEADS = "misleads"
    DISCRIMINATES_LITTLE = "discriminates_little"
    OFTEN_NOT_OBSERVED = "often_not_observed"


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemFacts:
    """What the marks of one item show.

    Parameters
    ----------
    station, item
        Codes.
    n, n_missing
        Sheets with a mark, and those without.
    not_observed
        Share of the sheets of the station where it was not observed [-].
    facility
        Mean mark over the maximum [-].
    corrected_r
        Correlation with the sum of the other items of the station, each sheet's missing ones left out [-].
    point_biserial
        Correlation with the whole sum, for an item with two marks in use [-]; NaN for others.
    upper_lower
        Facility in the best less that in the weakest 27 % by the sum of the station [-]; ties at the edge
        count in proportion.
    grade_rho
        Rank correlation with the global grade [-].
    flags
        What should be looked at.
    """

    station: str
    item: str
    n: int
    n_missing: int
    not_observed: float
    facility: float
    corrected_r: float
    point_biserial: float
    upper_lower: float
    grade_rho: float
    flags: tuple[ItemFlag, ...]


def analyse_items(marks: Marks) -> tuple[ItemFacts, ...]:
    """Return what the marks of each item show, in the order of the exam; one entry a sheet counts."""
    table, found = item_table(marks.blueprint), list[ItemFacts]()
    for s, code in enumerate(marks.blueprint.station_codes):
        first, end = int(table.first[s]), int(table.first[s + 1])
        here = np.flatnonzero(marks.station == s)
        rows = np.flatnonzero(marks.station[marks.sheet] == s)  # sheet after sheet, item after item
        shape = (len(here), end - first)
        marked = np.where(marks.state[rows] <= State.NOT_DONE, marks.mark[rows], np.nan).reshape(shape)
        state = marks.state[rows].reshape(shape)
        worth = table.weight[first:end] * marked
        total = np.nansum(worth, axis=1)
        for i in range(end - first):
            facts = item_facts(
                marked[:, i],
                rest=np.round(total - np.nan_to_num(worth[:, i]), _DIGITS),
                total=np.round(total, _DIGITS),
                grade=marks.grade[here],
                max_mark=float(table.max_mark[first + i]),
            )
            held = (state[:, i] != State.STATION_VOID) & (state[:, i] != State.ABSENT)
            unseen = float((state[:, i] == State.NOT_OBSERVED).sum() / held.sum()) if held.any() else nan
            found.append(_named(facts, code, table.codes[first + i], unseen))
    return tuple(found)


def item_facts(
    mark: Numbers, *, rest: Numbers, total: Numbers, grade: Numbers, max_mark: float
) -> dict[str, float]:
    """Return the numbers of one item, by their names in `ItemFacts`.

    Parameters
    ----------
    mark
        One entry a sheet [marks], shape (n,); NaN where missing, which leaves the sheet out.
    rest, total
        Sum of the other items, and of all [marks], shape (n,).
    grade
        Global grade [grade], shape (n,); NaN where none.
    max_mark
        Highest mark.
    """
    there = ~np.isnan(mark)
    x, n = mark[there], int(there.sum())
    graded = there & ~np.isnan(grade)
    return {
        "n": n,
        "n_missing": len(mark) - n,
        "facility": float(x.mean()) / max_mark if n else nan,
        "corrected_r": _correlation(x, rest[there]),
        "point_biserial": _point_biserial(x, total[there]),
        "upper_lower": _upper_lower(x, total[there], max_mark),
        "grade_rho": _correlation(_ranks(mark[graded]), _ranks(grade[graded])),
    }


def _named(facts: dict[str, float], station: str, item: str, unseen: float) -> ItemFacts:
    facility, r = facts["facility"], facts["corrected_r"]
    flags = {
        ItemFlag.TOO_EASY: facility > EASY,
        ItemFlag.TOO_HARD: facility < HARD,
        ItemFlag.MISLEADS: r < 0,
        ItemFlag.DISCRIMINATES_LITTLE: 0 <= r < LEAST_R,
        ItemFlag.OFTEN_NOT_OBSERVED: unseen > MOST_UNSEEN,
    }
    return ItemFacts(
        station=station,
        item=item,
        n=int(facts["n"]),
        n_missing=int(facts["n_missing"]),
        not_observed=unseen,
        facility=facility,
        corrected_r=r,
        point_biserial=facts["point_biserial"],
        upper_lower=facts["upper_lower"],
        grade_rho=facts["grade_rho"],
        flags=tuple(flag for flag, holds in flags.items() if holds),
    )


def _correlation(x: Numbers, y: Numbers) -> float:
    if len(x) < 3 or np.ptp(x) == 0 or np.ptp(y) == 0:
        return nan
    dx, dy = x - x.mean(), y - y.mean()
    return float(dx @ dy) / sqrt(float(dx @ dx) * float(dy @ dy))


def _point_biserial(x: Numbers, total: Numbers) -> float:
    if len(np.unique(x)) != 2 or np.ptp(total) == 0:
        return nan
    high = x == x.max()
    share = float(high.mean())
    apart = float(total[high].mean() - total[~high].mean())
    return apart / float(total.std()) * sqrt(share * (1 - share))


def _upper_lower(x: Numbers, total: Numbers, max_mark: float) -> float:
    if len(x) < 4:
        return nan
    size = _TAIL * len(x)
    return (_tail_mean(x, -total, size) - _tail_mean(x, total, size)) / max_mark


def _tail_mean(x: Numbers, key: Numbers, size: float) -> float:
    """Return the mean of x over the `size` sheets with the lowest key; ties at the edge share the rest."""
    edge = np.sort(key)[max(int(np.ceil(size)) - 1, 0)]
    inside, tied = key < edge, key == edge
    left = size - float(inside.sum())
    return (float(x[inside].sum()) + left * float(x[tied].mean())) / size


def _ranks(x: Numbers) -> Numbers:
    """Return ranks from 1, those of equals averaged: marks and grades take few values."""
    _, place, counts = np.unique(x, return_inverse=True, return_counts=True)
    return np.asarray((np.cumsum(counts) - (counts - 1) / 2)[place], dtype=np.float64)
