"""A whole exam analysed in one call, each part with what it rests on; a refused part costs no other.

The order: marks as read, scores, items, pass mark, decisions and rules, components and dependability,
accuracy, examiners and circuits, facets, flags. The facets take longest and need nothing of the rest, so they
have a thread of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from math import isnan

import numpy as np
from numpy.typing import NDArray

from fabella.assess.basis import Basis, Part, attempt
from fabella.assess.classical import Alpha
from fabella.assess.classification import Classification, ClassificationModel, livingston_lewis
from fabella.assess.common_factor import Omega, omega
from fabella.assess.coverage import Coverage, coverage
from fabella.assess.decided import Results
from fabella.assess.deciding import decide
from fabella.assess.dependable import Generalizability, generalizability
from fabella.assess.effects import Review, RuleEffect, review_list, rule_effects
from fabella.assess.exam_facets import Facets, exam_facets, rows_that_tell
from fabella.assess.exam_flags import Flag, exam_flags
from fabella.assess.examiners import ExaminerStudy, examiner_study
from fabella.assess.items import ItemFacts, analyse_items
from fabella.assess.marks import Marks, Numbers
from fabella.assess.noise import CutNoise, cut_noise
from fabella.assess.pass_mark import enough_taken, station_weights
from fabella.assess.rules import CutMethod, Rules
from fabella.assess.station_page import StationPage, station_pages
from fabella.assess.subscores import Subscore, weigh_domains
from fabella.assess.timing import StationTiming, analyse_timing
from fabella.errors import InputError
from fabella.stats.threads import one_thread

_SAME = 1e-9  # of the exam, by which shares of stations may differ by rounding
_FEWEST = 10  # candidates below which no share of right decisions is told; our default
_OF_GRADES = tuple(method for method in CutMethod if method.startswith(("borderline", "contrasting")))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Analysis:
    """Everything that the marks of an exam show; scores, cuts and errors in percent.

    Parameters
    ----------
    coverage
        What is there and what is missing.
    results
        Scores, pass mark and decisions, with the rules and the digest of the marks.
    decided
        What the pass mark and the decisions rest on.
    noise
        How far the error of the pass mark alone may move decisions.
    effects, review
        Failures by each rule; candidates for a second look.
    items, stations, timing
        One entry an item or station, in the order of the exam.
    alpha, omega, dependability, classification
        Reliability of the exam score, and of decisions.
    domains
        What each domain's score is worth.
    study
        Examiners and circuits.
    facets
        The many-facet Rasch analysis.
    flags
        What should be looked at.
    """

    coverage: Coverage
    results: Results
    decided: Basis
    noise: CutNoise
    effects: tuple[RuleEffect, ...]
    review: tuple[Review, ...]
    items: Part[tuple[ItemFacts, ...]]
    stations: tuple[StationPage, ...]
    timing: tuple[StationTiming, ...]
    alpha: Part[Alpha]
    omega: Part[Omega]
    dependability: Part[Generalizability]
    classification: Part[Classification]
    domains: Part[Mapping[str, Subscore]]
    study: ExaminerStudy
    facets: Part[Facets]
    flags: tuple[Flag, ...]

    @property
    def counts_alike(self) -> bool:
        """Whether all stations count the same."""
        shares = [each.share for each in self.stations]
        return max(shares) - min(shares) <= _SAME


def analyse(marks: Marks, rules: Rules, *, at_random: bool = False, target: float = 0.8) -> Analysis:
    """Return everything that the marks of an exam show under its rules.

    Parameters
    ----------
    marks
        The frozen marks.
    rules
        The frozen rules.
    at_random
        True if candidates were allotted to circuits and examiners at random: only then may examiners who
        share no candidates be compared by `facets`.
    target
        Coefficient for which the number of stations is asked [-].

    Raises
    ------
    InputError
        When the rules give no pass mark for these marks.
    """
    with one_thread(scipy_too=True), ThreadPoolExecutor(1) as beside:
        results = decide(marks, rules)  # what refuses the whole comes first
        facets = beside.submit(
            attempt,
            _of_marks("many-facet Rasch, marginal likelihood", marks, len(rows_that_tell(marks))),
            lambda: exam_facets(marks, at_random=at_random),
        )
        return _analysed(marks, results, facets, target)


def _analysed(marks: Marks, results: Results, facets: Future[Part[Facets]], target: float) -> Analysis:
    scores, found = results.scores, results.pass_mark
    scored = ~np.isnan(scores.of_sheet)
    items, timing = analyse_items(marks), analyse_timing(marks)
    stations = station_pages(marks, results, timing)
    weights = station_weights(marks.blueprint)
    classical, factor = results.alpha, omega(scores.station)
    study = examiner_study(marks, scores)
    bar = found.cut.estimate + results.allowance
    codes = {
        "candidate": marks.candidate[scored],
        "station": marks.station[scored],
        "circuit": marks.circuit[scored],
        "examiner": marks.examiner[scored],
    }
    domains, noise = weigh_domains(marks, scores), cut_noise(marks, results)
    return Analysis(
        coverage=coverage(marks, scores),
        results=results,
        decided=_decided(marks, results),
        noise=noise,
        effects=rule_effects(results),
        review=review_list(results, noise),
        items=Part(
            basis=_of_marks("sums over sheets", marks, int((~np.isnan(marks.mark)).sum())), value=items
        ),
        stations=stations,
        timing=timing,
        alpha=Part(
            basis=_whole(
                "Raju, stations as they count" if np.ptp(weights) else "Cronbach, Feldt's interval",
                classical.n,
                marks,
            ),
            value=classical,
        ),
        omega=Part(basis=_whole("one factor, maximum likelihood", factor.n, marks), value=factor),
        dependability=attempt(
            _of_sheets("REML", marks, int(scored.sum())),
            lambda: generalizability(
                scores.of_sheet[scored],
                codes,
                cut=found.cut.estimate,
                weight=_worth(marks, scored, weights),
                target=target,
            ),
        ),
        classification=_classification(marks, results, classical, bar),
        domains=Part(
            basis=_whole("Haberman", min((each.n for each in domains.values()), default=0), marks),
            value=domains,
        ),
        study=study,
        facets=facets.result(),
        flags=exam_flags(marks, found, items, stations, study),
    )


def _worth(marks: Marks, scored: NDArray[np.bool_], weights: Numbers) -> Numbers:
    """Return what each sheet with a score counts: its station's weight, shared among those who marked it."""
    place = marks.candidate[scored].astype(np.int64) * marks.n_stations + marks.station[scored]
    return np.asarray(weights[marks.station[scored]] / np.bincount(place)[place], dtype=np.float64)


def _decided(marks: Marks, results: Results) -> Basis:
    """Return what the pass mark rests on: sheets with score and grade, or candidates with a score."""
    method = results.rules.method
    if method in _OF_GRADES:
        used = ~np.isnan(results.scores.of_sheet) & ~np.isnan(marks.grade)
        return _of_sheets(method, marks, int(used.sum()))
    if method in (CutMethod.HOFSTEE, CutMethod.COHEN):
        return _whole(method, int(enough_taken(results.scores, results.rules.least_stations).sum()), marks)
    return _whole(method, int((~np.isnan(results.scores.total)).sum()), marks)


def _classification(marks: Marks, results: Results, classical: Alpha, bar: float) -> Part[Classification]:
    total = results.scores.total[~np.isnan(results.scores.total)]
    reliability = classical.alpha.estimate

    def classify() -> Classification:
        if len(total) < _FEWEST:
            says = "are too few to tell how true scores lie"
            remedy = (
                f"{_FEWEST} or more with a score are needed, and there {'is' if len(total) == 1 else 'are'} "
            )
            raise InputError.of(place="candidates", says=says, remedy=f"{remedy}{len(total)}")
        if isnan(reliability) or not 0 < reliability < 1:
            remedy = "one between 0 and 1 is needed"
            told = "cannot be worked out" if isnan(reliability) else f"is {round(reliability, 2) + 0.0:g}"
            says = f"{told}, which is no reliability to classify with"
            raise InputError.of(place="alpha", says=says, remedy=remedy)
        found = livingston_lewis(total, reliability=reliability, cut=bar)
        if isnan(found.accuracy):
            says, remedy = "are as good as the same", "there is nothing to classify"
            raise InputError.of(place="scores", says=says, remedy=remedy)
        return found

    found = attempt(_whole("Livingston and Lewis with alpha", len(total), marks), classify)
    if found.value and found.value.model is ClassificationModel.NORMAL:  # too short for binomial errors
        normal = replace(found.basis, estimator="normal true scores and errors with alpha")
        return replace(found, basis=normal)
    return found


def _whole(estimator: str, n: int, marks: Marks) -> Basis:
    return Basis(estimator=estimator, n=n, dropped=marks.n_candidates - n, of="candidates")


def _of_sheets(estimator: str, marks: Marks, n: int) -> Basis:
    return Basis(estimator=estimator, n=n, dropped=marks.n_sheets - n, of="sheets")


def _of_marks(estimator: str, marks: Marks, n: int) -> Basis:
    return Basis(estimator=estimator, n=n, dropped=len(marks.mark) - n, of="marks")
