"""How far the error of the pass mark alone may move decisions, by resampled exams."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fabella.assess.decided import Reason, Results
from fabella.assess.deciding import drawn, sat
from fabella.assess.marks import Marks, Numbers
from fabella.assess.pass_mark import station_weights
from fabella.assess.rounding import DIGITS
from fabella.assess.rules import Rounding, StationsRule
from fabella.stats import Interval, clopper_pearson


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutNoise:
    """How far the error of the pass mark alone may move decisions.

    Parameters
    ----------
    share_passing
        Share of resampled pass marks that each candidate's total reaches [-], shape (candidates,).
    failing
        Share of candidates below the pass mark [-], with the 95 % interval of resampled exams; where nobody
        failed, or all did, that is joined to the exact one, for no resample holds what was not seen.
    failing_by_stations
        Share passing too few stations [-], likewise; None where that rule is off.
    """

    share_passing: Numbers
    failing: Interval
    failing_by_stations: Interval | None


def cut_noise(marks: Marks, results: Results) -> CutNoise:
    """Return how far the error of the pass mark alone may move decisions.

    Each resample of candidates sets its own cuts, which are put to every candidate's stations as taken; the
    allowance for measurement error stays. A fixed cut, or Angoff's, is the same in every resample.
    """
    scores, rules, found = results.scores, results.rules, results.pass_mark
    counts, cuts = drawn(marks, rules, seed=results.marks_digest), found.resampled
    if not len(cuts):
        cuts = np.broadcast_to(np.array(found.station_cuts), (len(counts), marks.n_stations))
    held = sat(scores)  # a station that was void everywhere has no cut in any resample
    whole = ~np.isnan(cuts[:, held]).any(axis=1)
    cuts, counts = np.where(held, cuts, 0.0)[whole], counts[whole]
    there = ~np.isnan(scores.total)
    weights = np.where(held, station_weights(marks.blueprint), 0.0)
    taken = np.where(np.isnan(scores.station), 0.0, weights)
    share = taken[there] / taken[there].sum(axis=1, keepdims=True)
    bar = cuts @ share.T + _allowances(results)[there]
    total = np.round(scores.total[there], DIGITS)
    passes = total >= np.round(bar, DIGITS)
    shares = np.full(marks.n_candidates, np.nan)
    if len(passes):  # else no resample gives a pass mark
        shares[there] = passes.mean(axis=0)
    below = [Reason.BELOW_PASS_MARK in each.reasons for each in results.decisions]
    by_stations = None
    if rules.stations is not StationsRule.NONE and held.any():
        too_few = [Reason.TOO_FEW_PASSED in each.reasons for each in results.decisions]
        by_stations = _interval(
            np.array(too_few)[there],
            _too_few(results, cuts, counts, weights / weights.sum())[:, there],
            counts[:, there],
            acts=rules.stations is StationsRule.FIXED or not np.isnan(results.predicted_stations),
        )
    return CutNoise(
        share_passing=shares,
        failing=_interval(np.array(below)[there], ~passes, counts[:, there]),
        failing_by_stations=by_stations,
    )


def _allowances(results: Results) -> Numbers:
    """Return what is added to each candidate's pass mark for the error of measurement [%]."""
    each = [results.error_of(decision) for decision in results.decisions]
    return results.rules.sem_multiple * np.array(each) if results.rules.sem_multiple else np.zeros(len(each))


def _too_few(results: Results, cuts: Numbers, counts: Numbers, weights: Numbers) -> NDArray[np.bool_]:
    """Return who passes too few stations in each resample, shape (resamples, candidates)."""
    scores, rules = results.scores, results.rules
    station, n_stations = np.round(scores.station, DIGITS), scores.station.shape[1]
    passed = np.zeros((len(cuts), len(station)))
    for s in range(n_stations):
        passed += station[:, s] >= np.round(cuts[:, s], DIGITS)[:, None]
    need, of = np.full(len(cuts), float(rules.stations_needed or 0)), n_stations
    if rules.stations is StationsRule.PREDICTED:
        of = int(sat(scores).sum())
        whole = ~np.isnan(scores.station[:, sat(scores)]).any(axis=1)
        middle = results.pass_mark.cut.estimate
        x, y, w = scores.total[whole] - middle, passed[:, whole], counts[:, whole]
        n = w.sum(axis=1)
        with np.errstate(invalid="ignore", divide="ignore"):  # resamples of too few, or all alike
            mean_x, mean_y = w @ x / n, (w * y).sum(axis=1) / n
            spread = w @ x**2 / n - mean_x**2
            slope = ((w * y) @ x / n - mean_x * mean_y) / spread
            slope[spread < 10 ** (-2 * DIGITS)] = np.nan
        need = np.clip(mean_y + slope * (cuts @ weights - middle - mean_x), 0, of)
        need = np.nan_to_num(need)  # no prediction, no rule: as for the exam itself
    taken = (~np.isnan(scores.station)).sum(axis=1)
    exact = np.round(need[:, None] * taken / of, DIGITS)
    if rules.rounding is Rounding.UP:
        return np.asarray(passed < np.ceil(exact))
    return np.asarray(passed < np.floor(exact + (0.5 if rules.rounding is Rounding.NEAREST else 0.0)))


def _interval(
    now: NDArray[np.bool_], then: NDArray[np.bool_], counts: Numbers, *, acts: bool = True
) -> Interval:
    number = counts.sum(axis=1)
    shares = (counts * then).sum(axis=1)[number > 0] / number[number > 0]
    if not len(shares):
        middle = float(now.mean()) if len(now) else float("nan")
        return Interval(estimate=middle, low=float("nan"), high=float("nan"), level=0.95)
    low, high = np.percentile(shares, [2.5, 97.5]).tolist()
    exact = clopper_pearson(successes=int(now.sum()), n=len(now))
    if acts and exact.estimate in (0.0, 1.0):
        low, high = min(low, exact.low), max(high, exact.high)
    return replace(exact, low=low, high=high)
