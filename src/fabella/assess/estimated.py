"""Judges' estimates beside the exam: what each counts there, and what borderline candidates earned on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fabella.assess.angoff_rounds import AngoffRound, Estimates, angoff
from fabella.assess.blueprint import Blueprint, item_table
from fabella.assess.marks import Marks, Numbers, State
from fabella.assess.rules import Rules, Unreached
from fabella.assess.scores import Scores
from fabella.errors import InputError

_SAME = 1e-9  # of a station's marks, by which sums may differ


def last_round(marks: Marks, scores: Scores, rules: Rules, held: Sequence[int]) -> AngoffRound:
    """Return the last round, which sets the pass mark.

    Parameters
    ----------
    marks, scores
        The exam and what `score` makes of it.
    rules
        They hold at least one round; what the bell came before counts as they say.
    held
        Positions of the stations that were not void everywhere.

    Raises
    ------
    InputError
        When it names neither all stations nor all items.
    """
    return _round(marks, scores, rules, rules.estimates[-1], held)


def earlier_rounds(
    marks: Marks, scores: Scores, rules: Rules, held: Sequence[int]
) -> tuple[AngoffRound | None, ...]:
    """Return the rounds before the last in order, None for one of other stations or items than the exam has.

    Parameters
    ----------
    marks, scores, rules, held
        As of `last_round`.
    """
    found: list[AngoffRound | None] = []
    for each in rules.estimates[:-1]:
        try:
            found.append(_round(marks, scores, rules, each, held))
        except InputError:  # the exam was changed, and then estimated anew
            found.append(None)
    return tuple(found)


def _round(
    marks: Marks, scores: Scores, rules: Rules, estimates: Estimates, held: Sequence[int]
) -> AngoffRound:
    unreached_is_zero = rules.unreached is Unreached.NOT_DONE
    found = angoff(
        estimates,
        worth=worth_of(marks.blueprint, estimates, held=held),
        borderline=borderline_shares(marks, scores, estimates, unreached_is_zero=unreached_is_zero),
    )
    return replace(found, marked_otherwise=marked_otherwise(marks.blueprint, estimates))


def worth_of(
    blueprint: Blueprint, estimates: Estimates, *, held: Sequence[int] | None = None
) -> tuple[float, ...]:
    """Return what each station or item that was estimated counts of the exam [-], adding up to 1.

    Parameters
    ----------
    blueprint
        The exam.
    estimates
        Of every station by its code, or of every item as ``station/item``.
    held
        Positions of the stations that count; None: all.

    Raises
    ------
    InputError
        When they name neither all stations nor all items.
    """
    table = item_table(blueprint)
    by_item, places = _asked(blueprint, estimates)
    weight = np.array([each.weight for each in blueprint.stations])
    if held is not None:
        weight = np.where(np.isin(np.arange(len(weight)), held), weight, 0.0)
    share = weight / weight.sum()
    if by_item:
        marks = table.weight * table.max_mark
        share = share[table.station] * marks / np.bincount(table.station, marks)[table.station]
    return tuple(share[places].tolist())


def marked_otherwise(blueprint: Blueprint, estimates: Estimates) -> tuple[str, ...]:
    """Return the stations or items that are worth other marks now than when they were estimated.

    A share of other marks was estimated than those that are given.

    Parameters
    ----------
    blueprint, estimates
        As of `worth_of`.

    Raises
    ------
    InputError
        When they name neither all stations nor all items.
    """
    table = item_table(blueprint)
    by_item, places = _asked(blueprint, estimates)
    now = table.weight * table.max_mark
    if not by_item:
        now = np.bincount(table.station, now).astype(np.float64)
    then = np.array(estimates.max_mark)
    return tuple(estimates.items[k] for k in np.flatnonzero(abs(now[places] - then) > _SAME * then))


def borderline_shares(
    marks: Marks, scores: Scores, estimates: Estimates, *, unreached_is_zero: bool
) -> tuple[float, ...]:
    """Return the mean share of its marks that sheets graded borderline earned on each item estimated [-].

    Of a station it is their mean score; a sheet without one, and a mark that is missing, is left out.

    Parameters
    ----------
    marks, scores
        The exam and what `score` makes of it.
    estimates
        They name all stations or all items.
    unreached_is_zero
        True to count what was not reached as not done, as in the scores.
    """
    blueprint, graded = marks.blueprint, marks.grade == marks.blueprint.grades.borderline
    by_item, places = _asked(blueprint, estimates)
    if by_item:
        table, seen = item_table(blueprint), marks.state <= State.NOT_DONE
        used = (seen | (unreached_is_zero & (marks.state == State.NOT_REACHED))) & graded[marks.sheet]
        place, size = marks.item[used], len(table.codes)
        earned = np.where(seen, marks.mark / table.max_mark[marks.item], 0.0)[used]
    else:
        used = graded & ~np.isnan(scores.of_sheet)
        place, size = marks.station[used], marks.n_stations
        earned = scores.of_sheet[used] / 100
    with np.errstate(invalid="ignore"):
        means = np.bincount(place, earned, size) / np.bincount(place, minlength=size)
    return tuple(means[places].tolist())


def judged_share(blueprint: Blueprint, estimates: Estimates) -> Numbers:
    """Return the share of each station's marks that each judge expects [-], shape (judges, stations).

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
    by_item, places = _asked(blueprint, estimates)
    share = np.array(estimates.share)[:, np.argsort(places)]
    if not by_item:
        return share
    table = item_table(blueprint)
    worth = table.weight * table.max_mark
    parts = zip(np.split(share, table.first[1:-1], axis=1), np.split(worth, table.first[1:-1]), strict=True)
    return np.stack([part @ each / each.sum() for part, each in parts], axis=1)


def _asked(blueprint: Blueprint, estimates: Estimates) -> tuple[bool, list[int]]:
    """Return whether items were estimated, not stations, and the position of each in the exam.

    Raises `InputError` when neither all stations nor all items were.
    """
    for by_item, names in ((False, blueprint.station_codes), (True, _item_names(blueprint))):
        if sorted(names) == sorted(estimates.items):
            place = {name: number for number, name in enumerate(names)}
            return by_item, [place[name] for name in estimates.items]
    missing = sorted(set(blueprint.station_codes) - set(estimates.items))
    remedy = "estimate every station by its code, or every item as station/item"
    raise InputError.of(place="estimates", value=", ".join(missing), says="are not estimated", remedy=remedy)


def _item_names(blueprint: Blueprint) -> tuple[str, ...]:
    return tuple(f"{station.code}/{item.code}" for station in blueprint.stations for item in station.items)
