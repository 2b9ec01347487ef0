"""Set the pass mark of an exam by the method its rules name, with the error of resampled candidates.

Every number that decides is summed exactly or in a stated order, so that every machine gets the same one.
"""

from __future__ import annotations

from math import fsum, nan, sqrt
from typing import Literal

import numpy as np
import scipy

from fabella.assess.borderline_regression import Line, bootstrap_cuts, fit_line
from fabella.assess.compromise import cohen, cohen_cuts, hofstee, hofstee_cuts
from fabella.assess.estimated import earlier_rounds, judged_share, last_round
from fabella.assess.groups import GroupCut, borderline_group, contrasting_groups
from fabella.assess.marks import UNHELD, Marks, Numbers, State
from fabella.assess.pass_mark import PassMark, enough_taken, station_weights
from fabella.assess.resampled_groups import bootstrap_borderline_group, bootstrap_contrasting
from fabella.assess.rules import CutMethod, Rules
from fabella.assess.scores import Scores
from fabella.assess.without_cut import why_no_cut
from fabella.errors import InputError, Problem
from fabella.stats import Interval

_RULES_OF_CONTRAST: dict[CutMethod, Literal["intersection", "logistic", "least_loss"]] = {
    CutMethod.CONTRASTING_INTERSECTION: "intersection",
    CutMethod.CONTRASTING_LOGISTIC: "logistic",
    CutMethod.CONTRASTING_LEAST_LOSS: "least_loss",
}


_WHOLE = 100.0  # a pass mark lies between 0 and it, however far apart two judges are


def set_pass_mark(marks: Marks, scores: Scores, rules: Rules, counts: Numbers) -> PassMark:
    """Return the pass mark of an exam.

    Parameters
    ----------
    marks, scores
        The exam and what `score` makes of it.
    rules
        Its method and what belongs to it.
    counts
        Resampled candidates, as by `resample`, shape (resamples, candidates).

    Raises
    ------
    InputError
        When the method gives no cut at some station, or Angoff's estimates do not name the exam's items.
    """
    if rules.method is CutMethod.BORDERLINE_REGRESSION:
        found = _by_lines(marks, scores, counts)
    elif rules.method in (CutMethod.ANGOFF, CutMethod.FIXED):
        found = _by_judges(marks, scores, rules)
    elif rules.method in (CutMethod.HOFSTEE, CutMethod.COHEN):
        found = _by_cohort(marks, scores, rules, counts)
    else:
        found = _by_groups(marks, scores, rules, counts)
    if found.without_cut:
        raise InputError(
            [
                Problem(
                    place=f"station {marks.blueprint.station_codes[s]}",
                    says=f"gets no pass mark by {rules.method.replace('_', ' ')}",
                    remedy=why_no_cut(marks, scores, rules.method, s),
                )
                for s in found.without_cut
            ]
        )
    return found


def _by_lines(marks: Marks, scores: Scores, counts: Numbers) -> PassMark:
    grades, lines = marks.blueprint.grades, []
    for s in range(marks.n_stations):
        here = marks.station == s
        lines.append(
            fit_line(
                scores.of_sheet[here],
                marks.grade[here],
                borderline=grades.borderline,
                values=grades.values,
            )
        )
    resampled = bootstrap_cuts(
        scores.of_sheet,
        marks.grade,
        candidate=marks.candidate,
        station=marks.station,
        n_stations=marks.n_stations,
        counts=counts,
        borderline=grades.borderline,
    )
    cuts, ses = tuple(line.cut.estimate for line in lines), tuple(line.se for line in lines)
    return _of_stations(marks, CutMethod.BORDERLINE_REGRESSION, cuts, ses, resampled, lines=tuple(lines))


def _by_groups(marks: Marks, scores: Scores, rules: Rules, counts: Numbers) -> PassMark:
    grades, found, columns = marks.blueprint.grades, list[GroupCut](), list[Numbers]()
    rule = _RULES_OF_CONTRAST.get(rules.method)
    middle: Literal["mean", "median"] = (
        "median" if rules.method is CutMethod.BORDERLINE_GROUP_MEDIAN else "mean"
    )
    for s in range(marks.n_stations):
        here = (marks.station == s) & ~np.isnan(scores.of_sheet) & ~np.isnan(marks.grade)
        if rule is None:
            here &= marks.grade == grades.borderline
        score, grade, who = scores.of_sheet[here], marks.grade[here], marks.candidate[here]
        if rule is None:
            group = borderline_group(score, grade, borderline=grades.borderline, middle=middle)
            column = bootstrap_borderline_group(score, candidate=who, counts=counts, middle=middle)
        else:
            losses = {"false_pass": rules.false_pass, "false_fail": rules.false_fail}
            competent = grade > grades.borderline
            group = contrasting_groups(score, competent, rule=rule, **losses)
            column = bootstrap_contrasting(
                score, competent, candidate=who, counts=counts, rule=rule, **losses
            )
        found.append(group)
        columns.append(column)
    cuts, ses = tuple(group.cut for group in found), tuple(group.se for group in found)
    return _of_stations(marks, rules.method, cuts, ses, np.stack(columns, axis=1), groups=tuple(found))


def _of_stations(
    marks: Marks,
    method: CutMethod,
    cuts: tuple[float, ...],
    ses: tuple[float, ...],
    resampled: Numbers,
    *,
    lines: tuple[Line, ...] = (),
    groups: tuple[GroupCut, ...] = (),
) -> PassMark:
    weights = station_weights(marks.blueprint)
    used = _used(marks)
    share = weights[used] / fsum(weights[used])
    cut = fsum(share * np.array(cuts)[used])
    drawn = resampled[:, used] @ share
    interval, se = _percentiles(cut, drawn)
    return PassMark(
        method=method,
        cut=interval,
        se=se,
        se_independent=sqrt(fsum((share * np.array(ses)[used]) ** 2)),
        station_cuts=cuts,
        station_ses=ses,
        resampled=resampled,
        lines=lines,
        groups=groups,
        without_cut=tuple(s for s in used if np.isnan(cuts[s])),
    )


def _by_cohort(marks: Marks, scores: Scores, rules: Rules, counts: Numbers) -> PassMark:
    there = enough_taken(scores, rules.least_stations)  # a score on few stations is no place in the cohort
    if not there.any():
        says, remedy = "are missing of too many stations", "nobody was marked enough: look at the marks"
        raise InputError.of(place="scores", says=says, remedy=remedy)
    total = scores.total[there]
    values, place = np.unique(total, return_inverse=True)
    member = np.zeros((len(total), len(values)))
    member[np.arange(len(total)), place] = 1.0
    number = counts[:, there] @ member if len(values) < len(total) else counts[:, there][:, np.argsort(place)]
    if rules.method is CutMethod.HOFSTEE:
        found, drawn = hofstee(total, rules.bounds), hofstee_cuts(values, number, rules.bounds)[0]
    else:
        guessing, share, percentile = rules.cohen_guessing, rules.cohen_share, rules.cohen_percentile
        found = cohen(total, guessing=guessing, share=share, percentile=percentile)
        drawn = cohen_cuts(values, number, guessing=guessing, share=share, percentile=percentile)
    interval, se = _percentiles(found.cut, drawn)
    return PassMark(
        method=rules.method,
        cut=interval,
        se=se,
        se_independent=nan,
        station_cuts=(found.cut,) * marks.n_stations,
        station_ses=(nan,) * marks.n_stations,
        resampled=np.repeat(drawn[:, None], marks.n_stations, axis=1),
        cohort=found,
    )


def _by_judges(marks: Marks, scores: Scores, rules: Rules) -> PassMark:
    n = marks.n_stations
    if rules.method is CutMethod.FIXED:
        fixed = nan if rules.fixed_cut is None else rules.fixed_cut
        return PassMark(
            method=CutMethod.FIXED,
            cut=Interval(estimate=fixed, low=fixed, high=fixed, level=0.95),
            se=0.0,
            se_independent=0.0,
            station_cuts=(fixed,) * n,
            station_ses=(0.0,) * n,
            resampled=np.empty((0, n)),
        )
    share = judged_share(marks.blueprint, rules.estimates[-1])  # judges by stations
    held, judges = _used(marks), len(share)
    last = last_round(marks, scores, rules, held)
    reach = float(scipy.special.stdtrit(judges - 1, 0.975)) * last.se  # judges are few
    return PassMark(
        method=CutMethod.ANGOFF,
        cut=Interval(
            estimate=last.cut,
            low=max(last.cut - reach, 0.0),
            high=min(last.cut + reach, _WHOLE),
            level=0.95,
        ),
        se=last.se,
        se_independent=last.se,
        station_cuts=tuple(100 * fsum(column) / judges for column in share.T),
        station_ses=tuple(map(float, 100 * share.std(axis=0, ddof=1) / sqrt(judges))),
        resampled=np.empty((0, n)),
        rounds=(*earlier_rounds(marks, scores, rules, held), last),
    )


def _percentiles(cut: float, drawn: Numbers) -> tuple[Interval, float]:
    there = drawn[~np.isnan(drawn)]
    if len(there) < 2:
        return Interval(estimate=cut, low=nan, high=nan, level=0.95), nan
    low, high = np.clip(np.percentile(there, [2.5, 97.5]), min(cut, 0.0), max(cut, _WHOLE)).tolist()
    return Interval(estimate=cut, low=low, high=high, level=0.95), float(there.std(ddof=1))


def _used(marks: Marks) -> list[int]:
    """Return the stations that were not void everywhere; all of them if each was."""
    every = list(range(marks.n_stations))
    return [s for s in every if not _void_everywhere(marks, s)] or every


def _void_everywhere(marks: Marks, station: int) -> bool:
    state = marks.state[(marks.station == station)[marks.sheet]]
    broken = bool((state == State.STATION_VOID).any() and np.isin(state, UNHELD).all())
    return not len(state) or broken
