"""Decide who passes, from frozen marks and frozen rules alone; the same input gives the same decisions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil, floor, fsum, isnan, sqrt

import numpy as np
from numpy.typing import NDArray

from fabella.assess.blueprint import item_table
from fabella.assess.classical import Alpha, alpha
from fabella.assess.decided import Decision, Outcome, Reason, Results
from fabella.assess.marks import Marks, Numbers, State, candidate_circuit, digest
from fabella.assess.own_error import own_errors
from fabella.assess.pass_mark import enough_taken, own_cuts, station_weights
from fabella.assess.resampling import resample
from fabella.assess.rounding import DIGITS
from fabella.assess.rules import ErrorOf, Rounding, Rules, StationsRule, Unreached
from fabella.assess.scores import Scores, score
from fabella.assess.setting import set_pass_mark
from fabella.errors import InputError


def decide(marks: Marks, rules: Rules) -> Results:
    """Return the decisions of an exam.

    A candidate passes whose total is at least the cut of the stations taken plus the declared multiple of the
    standard error of measurement, and who satisfies the rules for stations and critical items, if any. Scores
    and cuts are compared after rounding to six decimals of a percent.

    Parameters
    ----------
    marks
        The frozen marks.
    rules
        The frozen rules.

    Raises
    ------
    InputError
        When the method of the rules gives no pass mark for these marks, or these marks give no standard error
        of measurement that is to be added to it.
    """
    seed = digest(marks)
    scores = score(
        marks,
        most_prorated=rules.most_prorated,
        items_prorated=rules.items_prorated,
        largest_prorated=rules.largest_prorated,
        unreached_is_zero=rules.unreached is Unreached.NOT_DONE,
    )
    found = set_pass_mark(marks, scores, rules, drawn(marks, rules, seed=seed))
    weights = station_weights(marks.blueprint)
    whole = alpha(scores.station, weights=weights)
    sem, errors = _errors(rules, whole, scores, weights)
    if rules.sem_multiple and isnan(sem):
        says = "cannot be worked out from these marks"
        remedy = (
            "alpha needs candidates who took every station, and two stations that tell them apart: declare a "
            "number, as the error over all stations that the analysis gives of everybody, or no allowance"
        )
        raise InputError.of(place="standard error of measurement", says=says, remedy=remedy)
    held_to = errors if rules.error_of is ErrorOf.TAKEN else np.full(marks.n_candidates, sem)
    allowance = rules.sem_multiple * held_to if rules.sem_multiple else 0.0
    station = np.round(scores.station, DIGITS)
    cuts = np.round(np.array(found.station_cuts), DIGITS)
    passed = station >= cuts  # False where missing
    total, own = np.round(scores.total, DIGITS), np.round(own_cuts(found, scores, marks.blueprint), DIGITS)
    bar = np.round(own + allowance, DIGITS)
    enough = enough_taken(scores, rules.least_stations)
    predicted = predict_stations(scores.total, passed.sum(axis=1), scores, found.cut.estimate)
    needed = stations_needed(rules, predicted, scores)
    held = _Held(
        total=total,
        own=own,
        bar=bar,
        passed=passed,
        enough=enough,
        needed=needed,
        critical=_critical(marks),
        sem=errors,
        allowed=rules.review_sems * held_to,
    )
    return Results(
        marks_digest=seed,
        rules=rules,
        scores=scores,
        pass_mark=found,
        alpha=whole,
        sem=sem,
        se_decision=sqrt(sem**2 + found.se**2),
        predicted_stations=predicted if rules.stations is StationsRule.PREDICTED else float("nan"),
        decisions=tuple(_decision(marks, rules, scores, held, p) for p in range(marks.n_candidates)),
    )


def _errors(rules: Rules, whole: Alpha, scores: Scores, weights: Numbers) -> tuple[float, Numbers]:
    """Return the standard error of one who took every station held, and each candidate's own [%].

    Alpha's is of the stations that anybody has a score at; one that was declared, of all of the exam.
    """
    if rules.sem is None:
        given, over = whole.sem, list(whole.stations)
    else:
        given, over = rules.sem, list(range(len(weights)))
    own = np.round(own_errors(given, scores.station, weights, over=over), DIGITS)
    if rules.error_of is ErrorOf.ALL or not whole.stations:
        return round(given, DIGITS), own
    everywhere = np.where(sat(scores), 0.0, np.nan)[None]
    return round(float(own_errors(given, everywhere, weights, over=over)[0]), DIGITS), own


def drawn(marks: Marks, rules: Rules, *, seed: str) -> Numbers:
    """Return how often each candidate is drawn in each resample that the rules ask for, as by `resample`."""
    strata = candidate_circuit(marks) if rules.within_circuits else None
    return resample(marks.n_candidates, seed=seed, times=rules.resamples, strata=strata)


def predict_stations(total: Numbers, passed: Numbers, scores: Scores, cut: float) -> float:
    """Return how many stations one at the pass mark is predicted to pass: regression on the total.

    Only candidates who took every station count, of those that anybody took. Source: Homer and others 2023
    Med Teach 45:1163-1169, doi 10.1080/0142159X.2023.2197138.
    """
    whole = ~np.isnan(scores.station[:, sat(scores)]).any(axis=1)
    x, y = total[whole], passed[whole].astype(np.float64)
    if len(x) < 3 or np.ptp(x) < 10**-DIGITS:
        return float("nan")
    mean_x, mean_y = fsum(x) / len(x), fsum(y) / len(x)
    slope = fsum((x - mean_x) * (y - mean_y)) / fsum((x - mean_x) ** 2)
    return mean_y + slope * (cut - mean_x)


def sat(scores: Scores) -> NDArray[np.bool_]:
    """Return which stations anybody has a score at, shape (stations,)."""
    return np.asarray(~np.isnan(scores.station).all(axis=0))


def stations_needed(rules: Rules, predicted: float, scores: Scores) -> Numbers:
    """Return how many stations each candidate must pass: in proportion for one who took fewer."""
    n, n_stations = scores.station.shape
    taken = (~np.isnan(scores.station)).sum(axis=1)
    of = n_stations
    if rules.stations is StationsRule.NONE:
        return np.zeros(n)
    need = float(rules.stations_needed or 0)
    if rules.stations is StationsRule.PREDICTED:
        of = max(int(sat(scores).sum()), 1)  # what is predicted, is predicted of the stations that were held
        need = 0.0 if isnan(predicted) else min(max(predicted, 0.0), float(of))
    exact = np.round(need * taken / of, DIGITS)
    turn = {Rounding.DOWN: floor, Rounding.UP: ceil, Rounding.NEAREST: lambda x: floor(x + 0.5)}
    return np.array([turn[rules.rounding](each) for each in exact], dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Held:
    """What every candidate is held against: each of shape (candidates,), ``passed`` (candidates, stations).

    ``total``, the cut of ``own`` stations, the ``bar`` with its allowance, the error ``sem`` and how close to
    the bar it is ``allowed`` to come without a review are in percent; ``critical`` are the failed critical
    items of those who have any.
    """

    total: Numbers
    own: Numbers
    bar: Numbers
    passed: NDArray[np.bool_]
    enough: NDArray[np.bool_]
    needed: Numbers
    critical: Mapping[int, Sequence[str]]
    sem: Numbers
    allowed: Numbers


def _decision(marks: Marks, rules: Rules, scores: Scores, held: _Held, p: int) -> Decision:
    total, bar = float(held.total[p]), float(held.bar[p])
    passed, needed, critical = held.passed[p], int(held.needed[p]), held.critical.get(p, ())
    codes = marks.blueprint.station_codes
    there = ~np.isnan(scores.station[p])
    reasons = {
        Reason.TOO_FEW_TAKEN: not held.enough[p],
        Reason.BELOW_PASS_MARK: total < bar,
        Reason.TOO_FEW_PASSED: int(passed.sum()) < needed,
        Reason.CRITICAL: rules.most_critical_failed is not None
        and len(critical) > rules.most_critical_failed,
    }
    outcome = Outcome.FAIL if any(reasons.values()) else Outcome.PASS
    margin = round(total - bar, DIGITS)
    return Decision(
        candidate=marks.candidates[p],
        outcome=outcome if held.enough[p] else Outcome.INSUFFICIENT,
        reasons=tuple(reason for reason, holds in reasons.items() if holds),
        total=total,
        cut=float(held.own[p]),
        pass_mark=bar,
        margin=margin,
        sem=float(held.sem[p]),
        lowest=round(float(scores.lowest[p]), DIGITS),
        highest=round(float(scores.highest[p]), DIGITS),
        stations_taken=int(there.sum()),
        stations_passed=int(passed.sum()),
        stations_needed=needed,
        failed_stations=tuple(codes[s] for s in np.flatnonzero(there & ~passed)),
        missing_stations=tuple(codes[s] for s in np.flatnonzero(~there)),
        critical_failed=tuple(critical),
        review=bool(abs(margin) <= held.allowed[p]),
    )


def _critical(marks: Marks) -> dict[int, list[str]]:
    """Return the failed critical items of each candidate who has any."""
    table, codes = item_table(marks.blueprint), marks.blueprint.station_codes
    failed: dict[int, list[str]] = {}
    seen = marks.state <= State.NOT_DONE
    for k in np.flatnonzero(table.critical[marks.item] & seen & (marks.mark == 0)):
        sheet, item = marks.sheet[k], marks.item[k]
        name = f"{codes[marks.station[sheet]]}/{table.codes[item]}"
        of_candidate = failed.setdefault(int(marks.candidate[sheet]), [])
        if name not in of_candidate:  # two examiners may have seen the same
            of_candidate.append(name)
    return failed
