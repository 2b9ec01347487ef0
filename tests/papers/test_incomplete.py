"""What the report to the board says of reliability where candidates missed stations."""

from dataclasses import replace
from datetime import date
from math import isnan, sqrt

import numpy as np
import pytest

from fabella.assess import Analysis, CutMethod, Marks, Rules, State, analyse, decide
from fabella.errors import InputError
from fabella.papers import Analysed, board_report
from fabella.report import as_text
from tests.assess.made import made_marks

FIXED = Rules(method=CutMethod.FIXED, fixed_cut=50.0, resamples=200)
STATIONS = 6


def missed(marks: Marks, *, of: int) -> Marks:
    """The same, the first candidates each absent at one station, by turns."""
    gone = (marks.candidate < of) & (marks.station == marks.candidate % STATIONS)
    rows = gone[marks.sheet]
    return replace(
        marks,
        mark=np.where(rows, np.nan, marks.mark),
        state=np.where(rows, State.ABSENT, marks.state).astype(marks.state.dtype),
        grade=np.where(gone, np.nan, marks.grade),
    )


def told(found: Analysis) -> str:
    """The report on one line."""
    exam = Analysed(
        title="x", held_on=date(2031, 5, 6), analysis=found, alternatives=(), target=0.8, version="0"
    )
    return " ".join(as_text(board_report(exam)).split())


@pytest.fixture(scope="module")
def marks() -> Marks:
    """An exam of 24 candidates at six stations, everybody at each."""
    return made_marks(stations=STATIONS, items=5, candidates=24, circuits=1, seed=4)


def test_where_nobody_missed_a_station_nothing_is_said(marks: Marks) -> None:
    """Alpha is of all."""
    assert "whole rows" not in told(analyse(marks, FIXED))


def test_alpha_of_some_is_told_from_what_is_of_all(marks: Marks) -> None:
    """Six of 24 missed one station each."""
    found = analyse(missed(marks, of=6), FIXED)
    says = told(found)
    assert (
        "Alpha needs whole rows: 18 of 24 candidates are in it. G, Phi and their errors above are of all"
        in says
    )
    assert found.results.alpha.n == 18


def test_where_everybody_missed_a_station_an_error_of_all_is_given(marks: Marks) -> None:
    """It is that of six stations by the components (Brennan 2001, ch. 4); as a rule it gives a second look.

    As they were marked, at five stations each, the error is larger by the root of six fifths.
    """
    ragged = missed(marks, of=24)
    found = analyse(ragged, FIXED)
    study = found.dependability.value
    assert study is not None
    assert isnan(found.results.sem)
    parts = {each.name: each.variance for each in study.components.parts}
    error = sqrt((parts["station"] + parts["residual"]) / STATIONS)
    assert study.dependability.sem_absolute == pytest.approx(error * sqrt(6 / 5))
    says = told(found)
    assert "none of 24 candidates is in it" in says
    assert f"Over all 6 stations it gives an absolute error of {error:.2f}%, which rules may name." in says
    with pytest.raises(InputError, match="the error over all stations that the analysis gives"):
        decide(ragged, replace(FIXED, sem_multiple=1))
    again = analyse(ragged, replace(FIXED, sem_multiple=1, sem=round(error, 2)))
    assert again.review
    assert again.results.decisions[0].sem == pytest.approx(error * sqrt(6 / 5), rel=1e-3)


def test_the_error_of_all_is_near_that_of_the_whole_table() -> None:
    """Of eight made exams the error from ragged marks is on average that from the whole table, within 3 %."""
    ratios = []
    for seed in range(8):
        whole = made_marks(stations=STATIONS, items=5, candidates=24, circuits=1, seed=seed)
        errors = []
        for each in (whole, missed(whole, of=24)):
            study = analyse(each, FIXED).dependability.value
            assert study is not None
            errors.append(study.curve[STATIONS - 1].dependability.sem_absolute)
        ratios.append(errors[1] / errors[0])
    assert np.mean(ratios) == pytest.approx(1, abs=0.03)
