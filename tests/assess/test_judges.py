"""Judges' estimates beside the exam: by its weights, and against what borderline candidates earned."""

from dataclasses import replace

import numpy as np
import pytest

from fabella.assess import (
    AngoffRound,
    Blueprint,
    CutMethod,
    Estimates,
    Item,
    Marks,
    PassMark,
    Rules,
    Station,
    Unreached,
    analyse,
    analysis_tree,
    decide,
    marked_otherwise,
    worth_of,
)
from fabella.errors import InputError
from tests.assess.judged_exam import ESTIMATES, GRADED, marks_of
from tests.assess.made import made_marks, read_rows


def judged(marks: Marks, *rounds: Estimates, unreached: Unreached = Unreached.MISSING) -> PassMark:
    """The pass mark that rounds of estimates give."""
    return decide(marks, Rules(method=CutMethod.ANGOFF, estimates=rounds, unreached=unreached)).pass_mark


def last(mark: PassMark) -> AngoffRound:
    """Its last round."""
    found = mark.rounds[-1]
    assert found is not None
    return found


def test_a_small_exam_worked_by_hand() -> None:
    """Three stations of which C counts twice, three judges; by hand and with numpy.corrcoef.

    Own pass marks: Ada (40 + 60 + 2 x 50) / 4 = 50, Ben 60, Cyd (50 + 70 + 2 x 70) / 4 = 65; mean 58.333.
    Without Ada (60 + 65) / 2 = 62.5, without Ben 57.5, without Cyd 55.
    Sheets graded borderline (1) earned A (4 + 6) / 2 = 5 of 10, B 7, C (5 + 6 + 7) / 3 = 6. Ada's 40, 60, 50
    go with 50, 70, 60 in step: r = 1. Ben gives every station the same: none. Cyd: deviations
    -13.33, 6.67, 6.67 against -10, 10, 0: 200 / sqrt(266.67 x 200) = 0.866.
    """
    mark = judged(marks_of(GRADED), ESTIMATES)
    found = last(mark)
    assert found.judges == ("Ada", "Ben", "Cyd")
    assert found.judge_cuts == pytest.approx((50, 60, 65))
    assert found.cut == mark.cut.estimate == pytest.approx(175 / 3)
    assert found.severity == pytest.approx((50 - 175 / 3, 60 - 175 / 3, 65 - 175 / 3))
    assert found.without == pytest.approx((62.5, 57.5, 55))
    assert found.consistency[0] == pytest.approx(1)
    assert np.isnan(found.consistency[1])
    assert found.consistency[2] == pytest.approx(200 / np.sqrt(800 / 3 * 200))
    assert found.consistency[2] == pytest.approx(np.corrcoef([50, 70, 70], [50, 70, 60])[0, 1])
    mean = np.mean(ESTIMATES.share, axis=0)
    assert found.consistency_of_mean == pytest.approx(np.corrcoef(mean, [50, 70, 60])[0, 1])
    assert found.compared == 3


def test_the_order_of_the_estimates_does_not_matter() -> None:
    """Stations estimated in another order than the exam's give the same round."""
    turned = replace(
        ESTIMATES, items=ESTIMATES.items[::-1], share=tuple(row[::-1] for row in ESTIMATES.share)
    )
    one, other = last(judged(marks_of(GRADED), ESTIMATES)), last(judged(marks_of(GRADED), turned))
    assert other.judge_cuts == pytest.approx(one.judge_cuts)
    assert other.consistency == pytest.approx(one.consistency, nan_ok=True)


def test_a_void_station_counts_neither_in_the_round_nor_in_the_pass_mark() -> None:
    """C broke down: Ada (40 + 60) / 2 = 50, Ben 60, Cyd 60; two stations are too few for r."""
    void = {**GRADED, "C": ("station_void,station_void",) * 4}
    mark = judged(marks_of(void), ESTIMATES)
    found = last(mark)
    assert found.judge_cuts == pytest.approx((50, 60, 60))
    assert found.cut == mark.cut.estimate == pytest.approx(170 / 3)
    assert found.compared == 2
    assert np.isnan(found.consistency).all()


def test_stations_without_a_borderline_sheet_are_not_set_against_estimates() -> None:
    """Where nobody was graded borderline at B, r is of the other stations alone: too few here, so none."""
    found = last(judged(marks_of({**GRADED, "B": ("7,2", "9,3", "9,3", "3,0")}), ESTIMATES))
    assert found.compared == 2
    assert np.isnan(found.consistency_of_mean)


def test_items_are_set_against_what_borderline_sheets_earned_on_each() -> None:
    """Items by hand: what was not seen is left out, not done is 0, what the bell cut off counts by the rules.

    One station, x and y of 4 marks and z of 2, borderline sheets P1 and P2. x: 2 and not seen, 2 / 4 = 0.5.
    y: 4 and not done, (1 + 0) / 2 = 0.5. z: 2 and not reached: 1, or (1 + 0) / 2 if that is not done.
    The items count 4, 4 and 2 of 10: Ada (40 x 4 + 50 x 4 + 90 x 2) / 10 = 54, Ben 60.
    """
    items = tuple(Item(code=code, max_mark=most) for code, most in (("x", 4), ("y", 4), ("z", 2)))
    blueprint = Blueprint(stations=(Station(code="A", items=items),))
    marks = {
        "P1": ("2", "4", "2", 1),
        "P2": ("not_observed", "not_done", "not_reached", 1),
        "P3": ("4", "4", "2", 3),
    }
    rows = [
        f"{who},one,A,E1,{item.code},{mark},{grade}"
        for who, (*given, grade) in marks.items()
        for item, mark in zip(items, given, strict=True)
    ]
    estimates = Estimates(
        judges=("Ada", "Ben"),
        items=("A/x", "A/y", "A/z"),
        share=((0.4, 0.5, 0.9), (0.6, 0.5, 0.8)),
        max_mark=(1, 1, 1),  # as estimated; the exam's own maxima count
    )
    mark = judged(read_rows(rows, blueprint), estimates)
    assert last(mark).judge_cuts == pytest.approx((54, 60))
    assert mark.cut.estimate == pytest.approx(57)
    expected = [np.corrcoef(row, (0.5, 0.5, 1.0))[0, 1] for row in estimates.share]
    assert last(mark).consistency == pytest.approx(expected)
    bell = judged(read_rows(rows, blueprint), estimates, unreached=Unreached.NOT_DONE)
    assert np.isnan(last(bell).consistency).all(), "all three earned one half: nothing to go with"


def test_every_round_is_kept_and_one_of_another_exam_is_none() -> None:
    """The last round sets the pass mark; an earlier one of other stations costs nothing, the last all."""
    second = replace(ESTIMATES, share=((0.5, 0.6, 0.6),) * 3, seen_impact=True)
    other = replace(ESTIMATES, items=("A", "B", "D"))
    first, none, then = judged(marks_of(GRADED), ESTIMATES, other, second).rounds
    assert first is not None
    assert then is not None
    assert none is None
    assert (first.cut, then.cut) == pytest.approx((175 / 3, 57.5))
    with pytest.raises(InputError, match="'C' are not estimated"):
        judged(marks_of(GRADED), ESTIMATES, other)


def test_what_items_count_adds_up_to_the_exam() -> None:
    """Stations by their weights, items by weight times maximum within their station."""
    blueprint = Blueprint(
        stations=(
            Station(code="A", items=(Item(code="x", max_mark=3), Item(code="y", max_mark=1, weight=3))),
            Station(code="B", items=(Item(code="x", max_mark=5),), weight=3),
        )
    )
    names = ("B/x", "A/y", "A/x")
    of_items = Estimates(judges=("a", "b"), items=names, share=((0.5,) * 3,) * 2, max_mark=(1,) * 3)
    assert worth_of(blueprint, of_items) == pytest.approx((0.75, 0.125, 0.125))
    of_stations = Estimates(judges=("a", "b"), items=("B", "A"), share=((0.5,) * 2,) * 2, max_mark=(1,) * 2)
    assert worth_of(blueprint, of_stations) == pytest.approx((0.75, 0.25))
    assert worth_of(blueprint, of_stations, held=(1,)) == (1, 0)
    assert marked_otherwise(blueprint, of_stations) == ("B", "A"), "5 and 3 + 3 marks"
    assert marked_otherwise(blueprint, replace(of_stations, max_mark=(5, 6))) == ()
    assert marked_otherwise(blueprint, replace(of_items, max_mark=(5, 3, 1))) == ("A/x",)


def test_the_data_of_an_analysis_hold_what_judges_are_told_of() -> None:
    """Cuts and correlations of the judges stand in the analysis as data, none of them null."""
    marks = made_marks(stations=6)
    share = tuple(tuple(0.4 + 0.05 * ((s * 2 + j) % 5) for s in range(6)) for j in range(4))
    estimates = Estimates(
        judges=("a", "b", "c", "d"), items=marks.blueprint.station_codes, share=share, max_mark=(16,) * 6
    )
    rules = Rules(method=CutMethod.ANGOFF, estimates=(estimates,), resamples=200)
    tree = analysis_tree(marks, analyse(marks, rules))
    (told,) = tree["pass_mark"]["rounds"]
    assert told["judges"] == ["a", "b", "c", "d"]
    assert told["cut"] == tree["results"]["pass_mark"]["cut"]
    assert None not in told["consistency"]
    assert None not in told["without"]


def test_two_judges_far_apart_leave_the_pass_mark_on_the_scale() -> None:
    """By t with one degree of freedom their interval is 12.7 standard errors either way, but on the scale.

    It had been told to the board as one from below 0 to above 100 %. t of one degree: 12.7062 (any table).
    """
    far = replace(ESTIMATES, judges=("Ada", "Ben"), share=((0.4, 0.4, 0.4), (0.8, 0.8, 0.8)))
    near = replace(far, share=((0.59, 0.59, 0.59), (0.6, 0.6, 0.6)))
    cuts = [
        decide(
            marks_of(GRADED), Rules(method=CutMethod.ANGOFF, estimates=(each,), resamples=200)
        ).pass_mark.cut
        for each in (far, near)
    ]
    assert cuts[0].estimate == pytest.approx(60.0)
    assert (cuts[0].low, cuts[0].high) == (0.0, 100.0)
    assert cuts[1].low == pytest.approx(59.5 - 12.7062 * 0.5, abs=1e-3)
