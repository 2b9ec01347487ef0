"""What the report to the board says of odd marks: what it cannot tell, and what a number is not of."""

from dataclasses import replace
from datetime import date

import numpy as np

from fabella.assess import (
    Alternative,
    Blueprint,
    CutMethod,
    Estimates,
    Marks,
    Rules,
    analyse,
    analysis_tree,
    compare,
)
from fabella.papers import Analysed, board_report
from fabella.papers.words import refusal_words
from fabella.report import as_text
from tests.assess.made import made_marks

FIXED = Rules(method=CutMethod.FIXED, fixed_cut=50.0, resamples=200)


def told(marks: Marks, rules: Rules, beside: tuple[Alternative, ...] = ()) -> str:
    """Return the report on an exam on one line."""
    exam = Analysed(
        title="An invented exam",
        held_on=date(2031, 5, 6),
        analysis=analyse(marks, rules),
        alternatives=beside,
        target=0.8,
        version="0",
    )
    return " ".join(as_text(board_report(exam)).split())


def test_a_refusal_stands_where_a_number_cannot_be_had() -> None:
    """One station with one examiner each has no G, no Phi and no SEM, and the report says so in words."""
    says = told(made_marks(stations=1, circuits=1, candidates=30), FIXED)
    assert "what they can do cannot be told from error" in says
    assert "Phi 1.00" not in says
    assert "nobody is told to lie within one of the pass mark" in says
    assert "–%" not in says


def test_reliability_of_one_station_is_said_to_be_of_that_station() -> None:
    """Two examiners at one station give a Phi that tells nothing of other stations (Brennan 2001, ch. 4)."""
    one = made_marks(stations=1, circuits=1, candidates=30)
    n, items = one.n_sheets, len(one.mark) // one.n_sheets
    dice = np.random.default_rng(1)
    again = np.clip(one.mark + dice.integers(-1, 2, len(one.mark)), 0, 2)
    both = replace(
        one,
        examiners=("E01", "E02"),
        candidate=np.tile(one.candidate, 2),
        circuit=np.tile(one.circuit, 2),
        station=np.tile(one.station, 2),
        examiner=np.repeat(np.array([0, 1], dtype=one.examiner.dtype), n),
        grade=np.tile(one.grade, 2),
        started_s=np.tile(one.started_s, 2),
        finished_s=np.tile(one.finished_s, 2),
        timed_out=np.tile(one.timed_out, 2),
        sheet=np.repeat(np.arange(2 * n, dtype=one.sheet.dtype), items),
        item=np.tile(one.item, 2),
        mark=np.concatenate([one.mark, again]),
        state=np.tile(one.state, 2),
    )
    says = told(both, FIXED)
    assert "There was one station" in says
    assert "G and Phi tell nothing of other stations" in says
    assert "There was one station" not in told(made_marks(circuits=1), FIXED)


def test_stations_that_count_differently_are_said_to_be_reckoned_so() -> None:
    """Alpha is then Raju's, without an interval, and the curve is said to be of other stations."""
    marks = made_marks(stations=4, circuits=1)
    stations = marks.blueprint.stations
    weighted = replace(marks, blueprint=Blueprint(stations=(replace(stations[0], weight=4.0), *stations[1:])))
    says = told(weighted, FIXED)
    assert "Raju, stations as they count" in says
    assert "the curve is of stations that count alike" in says
    tree = analysis_tree(weighted, analyse(weighted, FIXED))
    assert tree["alpha"]["estimator"] == "Raju, stations as they count"
    assert tree["alpha"]["value"]["alpha"]["low"] is None


def test_the_report_tells_what_the_rasch_part_left_out_and_takes_for_granted() -> None:
    """Warnings of the data stand in the report too, and its reliability is told with what it rests on."""
    marks = made_marks(stations=3, circuits=1)
    mark = np.where(marks.item == 2, 2.0, marks.mark)
    says = told(replace(marks, mark=mark), FIXED)
    assert "everybody had everything there or nothing" in says
    assert "S01/I03" in says
    assert "if items of a station were independent, which they are not" in says


def test_accuracy_is_said_to_be_that_of_the_score_where_other_rules_decide_too() -> None:
    """Livingston and Lewis judge the total: with a rule on critical items they are not all of a decision."""
    marks = made_marks(circuits=1)
    assert "By the whole score alone, about" in told(marks, replace(FIXED, most_critical_failed=0))
    assert "By the whole score alone" not in told(marks, FIXED)


def test_a_fixed_pass_mark_has_no_interval() -> None:
    """What was fixed beforehand is no estimate: no interval from itself to itself stands beside it."""
    marks = made_marks(stations=3, circuits=1)
    beside = compare(marks, (FIXED, Rules(method=CutMethod.COHEN, resamples=200)))
    says = told(marks, FIXED, beside)
    assert "fixed beforehand 50.0%" in says
    assert "50.0 to 50.0" not in says


def test_judges_who_met_again_are_said_to_have_too_small_an_error() -> None:
    """After discussion judges' pass marks lie nearer together than they are sure.

    MacCann and Stanley, Practical Assessment, Research and Evaluation 9(5).
    """
    marks = made_marks(stations=3, circuits=1)
    share = ((0.50, 0.60, 0.55), (0.62, 0.66, 0.58), (0.57, 0.70, 0.66))
    once = Estimates(
        judges=("A", "B", "C"), items=marks.blueprint.station_codes, share=share, max_mark=(16, 16, 16)
    )
    rules = Rules(method=CutMethod.ANGOFF, estimates=(once,), resamples=200)
    assert "too small if they conferred" not in told(marks, rules)
    assert "too small if they conferred" in told(marks, replace(rules, estimates=(once, once)))


def test_an_error_that_cannot_be_told_is_said_to_be_unknown() -> None:
    """One borderline sheet a station gives a pass mark without an interval, and not one of width 0."""
    marks = made_marks(stations=3, candidates=30, circuits=1)
    grade = np.where(marks.grade == 1, 2.0, marks.grade)
    for s in range(3):
        grade[np.flatnonzero(marks.station == s)[:1]] = 1.0
    rules = Rules(method=CutMethod.BORDERLINE_GROUP_MEAN, resamples=200)
    says = told(replace(marks, grade=grade), rules)
    assert "its error cannot be told from so few" in says


def test_a_refusal_names_effects_in_words() -> None:
    """The board had read of an "Examiner:station", and of a "Score 'shape (1,)'"."""
    refusal = "examiner:station: cannot be told from error; several marks of each level are needed"
    assert refusal_words(refusal).startswith("Examiner within station cannot be told from error;")
    alone = told(made_marks(stations=1, circuits=1, candidates=1), FIXED)
    assert "shape" not in alone
    assert "Scores are too few" in alone


def test_a_reliability_of_nothing_is_no_rounding() -> None:
    """Where only one station tells candidates apart alpha is 0, which had been told as -2.78e-16."""
    marks = made_marks(stations=4, circuits=1, candidates=30)
    elsewhere = marks.station[marks.sheet] > 0
    says = told(replace(marks, mark=np.where(elsewhere, 2.0, marks.mark)), FIXED)
    assert "Alpha is 0, which is no reliability to classify with" in says
