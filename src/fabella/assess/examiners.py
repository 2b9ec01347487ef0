"""What the sheets say of each examiner: severity, spread, drift; ordered by code, never by rank."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.assess.basis import Basis, Part, attempt
from fabella.assess.circuits import CircuitEffect, circuit_effects
from fabella.assess.drift import Drift, drift
from fabella.assess.handovers import Handover, handovers
from fabella.assess.marks import Marks, Numbers
from fabella.assess.scores import Scores
from fabella.assess.severity import Severity, severity
from fabella.assess.spread import Spread, spread
from fabella.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExaminerStudy:
    """What the sheets say of examiners and circuits.

    Parameters
    ----------
    names
        Codes of the examiners in the order of the arrays of `severity` and `spread`.
    graded
        Codes of those in `given_grade`, who gave a grade at least once.
    timed
        Codes of those in `drift`, whose sheets have a time.
    severity
        From scores alone.
    given_grade
        Among performances of the same global grade.
    spread, spread_of_grades
        How far each examiner's scores, and grades, lie apart.
    drift
        Through the day, and contrast with the candidate before.
    handovers
        Who took over from whom at a station, and what the common drift makes of it; empty without a drift.
    circuits
        Differences between circuits at each station.
    circuit_names
        Codes of the circuits in the order of their means.
    """

    names: tuple[str, ...]
    graded: tuple[str, ...]
    timed: tuple[str, ...]
    severity: Part[Severity]
    given_grade: Part[Severity]
    spread: Part[Spread]
    spread_of_grades: Part[Spread]
    drift: Part[Drift]
    handovers: tuple[Handover, ...]
    circuits: Part[tuple[CircuitEffect, ...]]
    circuit_names: tuple[str, ...]


def examiner_study(marks: Marks, scores: Scores) -> ExaminerStudy:
    """Return what the sheets say of examiners and circuits; scores in percent."""
    y = scores.of_sheet
    scored = ~np.isnan(y)
    graded = scored & ~np.isnan(marks.grade)
    timed = scored & ~np.isnan(marks.started_s)

    def basis(estimator: str, used: NDArray[np.bool_]) -> Basis:
        n = int(used.sum())
        return Basis(estimator=estimator, n=n, dropped=marks.n_sheets - n, of="sheets")

    def severe(used: NDArray[np.bool_], grade: Numbers | None) -> Severity:
        return severity(
            y[used],
            candidate=marks.candidate[used],
            station=marks.station[used],
            examiner=marks.examiner[used],
            grade=grade,
            names=_names(marks, used),
        )

    def drifting() -> Drift:
        if not timed.any():
            remedy = "give a column 'started' with the time each sheet was begun"
            raise InputError.of(place="started", says="is not known", remedy=remedy)
        return drift(
            y[timed],
            candidate=marks.candidate[timed],
            station=marks.station[timed],
            examiner=marks.examiner[timed],
            order=_running_order(marks.examiner[timed], marks.started_s[timed]),
        )

    def spreading(values: Numbers, used: NDArray[np.bool_]) -> Spread:
        return spread(values[used], station=marks.station[used], examiner=marks.examiner[used])

    moves = attempt(basis("REML, slope on running order", timed), drifting)
    return ExaminerStudy(
        names=_names(marks, scored),
        graded=_names(marks, graded),
        timed=_names(marks, timed),
        severity=attempt(basis("REML, predicted", scored), lambda: severe(scored, None)),
        given_grade=attempt(
            basis("REML given the grade, predicted", graded), lambda: severe(graded, marks.grade[graded])
        ),
        spread=attempt(basis("SD within examiner and station", scored), lambda: spreading(y, scored)),
        spread_of_grades=attempt(
            basis("SD within examiner and station", graded), lambda: spreading(marks.grade, graded)
        ),
        drift=moves,
        handovers=handovers(marks, timed, moves.value.drift) if moves.value else (),
        circuits=attempt(
            basis("one-way analysis of variance at each station", scored),
            lambda: circuit_effects(y[scored], station=marks.station[scored], circuit=marks.circuit[scored]),
        ),
        circuit_names=tuple(marks.circuits[code] for code in np.unique(marks.circuit[scored])),
    )


def _names(marks: Marks, used: NDArray[np.bool_]) -> tuple[str, ...]:
    return tuple(marks.examiners[code] for code in np.unique(marks.examiner[used]))


def _running_order(examiner: NDArray[np.int32], started_s: Numbers) -> NDArray[np.float64]:
    """Return 1 for the first sheet of each examiner, 2 for the next …, shape (n,)."""
    order = np.lexsort((started_s, examiner))
    first = np.searchsorted(examiner[order], examiner[order], side="left")
    place = np.empty(len(order))
    place[order] = np.arange(len(order)) - first + 1.0
    return place
