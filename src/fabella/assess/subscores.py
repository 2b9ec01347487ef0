"""Whether a subscore says more about a candidate than the total does.

Source: Haberman 2008 J Educ Behav Stat 33:204-229 (from memory), where errors are independent from subscore
to subscore; at an exam of stations those at one station are not, which is allowed for here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import nan

import numpy as np

from fabella.assess.blueprint import Blueprint, item_table
from fabella.assess.classical import alpha
from fabella.assess.marks import Marks, Numbers
from fabella.assess.own_error import own_errors
from fabella.assess.scores import Scores


@dataclass(frozen=True, slots=True, kw_only=True)
class Subscore:
    """What a subscore is worth.

    Parameters
    ----------
    reliability
        Alpha of the subscore over stations [-]: by how much predicting the true subscore from itself reduces
        the mean squared error.
    from_total
        By how much predicting it from the total does [-].
    worth_showing
        Whether it predicts itself better than the total does.
    sem
        Its standard error of measurement, in its own unit: to be shown with it.
    n
        Candidates with no gap in it.
    """

    reliability: float
    from_total: float
    worth_showing: bool
    sem: float
    n: int


def weigh_subscore(parts: Numbers, whole: Numbers) -> Subscore:
    """Return what a subscore, the sum of its parts, is worth beside the total.

    Two scores at one station share its errors (the same patient and examiner), so only what goes together
    across different stations counts as true: with k stations that have the part,
    Cov(true sub, true total) = k/(k-1) times the sum of Cov(part at s, whole at t) over such s and t that
    differ, plus that with stations that lack the part. With one station only there is no reliability, and
    the subscore is not worth showing.

    Parameters
    ----------
    parts
        What each station adds to the total through the domain, shape (candidates, stations); a column of NaN
        for a station that lacks it, other NaN leave a candidate out.
    whole
        What each station adds to the total, same unit and shape.
    """
    used = ~np.isnan(parts).all(axis=0)
    sat = ~np.isnan(whole).all(axis=0)
    there = ~np.isnan(parts[:, used]).any(axis=1) & ~np.isnan(whole[:, sat]).any(axis=1)
    x, others = parts[there][:, used], whole[there][:, sat & ~used]
    n, k = x.shape
    found, total = alpha(x), whole[there][:, sat].sum(axis=1)
    reliability, sem = found.alpha.estimate, found.sem * k
    if not reliability > 0 or np.ptp(total) == 0:
        return Subscore(reliability=reliability, from_total=nan, worth_showing=False, sem=sem, n=n)
    here = whole[there][:, used]
    dx = x - x.mean(axis=0)
    same = float((dx * here).sum()) / (n - 1)
    across = float(dx.sum(axis=1) @ here.sum(axis=1)) / (n - 1) - same
    with_true = k / (k - 1) * across + float(dx.sum(axis=1) @ others.sum(axis=1)) / (n - 1)
    true = float(x.sum(axis=1).var(ddof=1)) * reliability
    from_total = with_true**2 / (true * float(total.var(ddof=1)))
    return Subscore(
        reliability=reliability,
        from_total=from_total,
        worth_showing=reliability > from_total,
        sem=sem,
        n=n,
    )


def weigh_domains(marks: Marks, scores: Scores) -> dict[str, Subscore]:
    """Return what each domain's score is worth beside the exam score, by the name of the domain.

    The error is in percent of the domain. A domain that nobody has a score in is left out, and so are
    candidates who missed a station that has a score.
    """
    table, adds = item_table(marks.blueprint), _adds(marks.blueprint)
    sat = np.any(~np.isnan(scores.station), axis=0)
    adds = np.where(sat[:, None], adds, 0.0)
    if not sat.any():
        return {}
    adds = adds / float(adds.sum())
    whole = adds.sum(axis=1) * scores.station
    found = {}
    for d, name in enumerate(table.domains):
        if not adds[:, d].any():  # only at stations that nobody has a score at
            continue
        parts = np.where(adds[:, d] > 0, adds[:, d] * scores.domain_station[:, :, d], np.nan)
        weighed = weigh_subscore(parts, whole)
        found[name] = replace(weighed, sem=weighed.sem / float(adds[:, d].sum()))
    return found


def domain_errors(marks: Marks, scores: Scores, weighed: Subscore, place: int) -> Numbers:
    """Return each candidate's standard error in a domain over the stations taken [%], shape (candidates,).

    Parameters
    ----------
    marks, scores
        Of the exam.
    weighed
        The domain's, as by `weigh_domains`.
    place
        Its place among the domains.
    """
    parts, adds = scores.domain_station[:, :, place], _adds(marks.blueprint)[:, place]
    over = np.flatnonzero(~np.isnan(parts).all(axis=0)).tolist()
    return own_errors(weighed.sem, parts, adds, over=over)


def _adds(blueprint: Blueprint) -> Numbers:
    """Return what 1 % in a domain adds to the exam at each station, shape (stations, domains)."""
    table = item_table(blueprint)
    worth = table.weight * table.max_mark
    shape = (len(blueprint.stations), len(table.domains))
    place = table.station.astype(np.int64) * shape[1] + table.domain
    full = np.bincount(place, worth, shape[0] * shape[1]).reshape(shape)
    weights = np.array([[station.weight] for station in blueprint.stations])
    return np.asarray(weights * full / full.sum(axis=1, keepdims=True), dtype=np.float64)
