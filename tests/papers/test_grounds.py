"""How a result came about, for an appeal: from the marks on a sheet to the score that was decided on."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fabella.assess import CutMethod, Rules, Unreached, decide, read_marks
from fabella.exam import Item, Station, blueprint_of
from fabella.papers import Cohort, SheetGround, how_scored, sheet_grounds

HEADER = "candidate,circuit,station,examiner,item,mark,global"
FIXED = Rules(method=CutMethod.FIXED, fixed_cut=50.0, resamples=200)


def station(name: str) -> Station:
    """A station of nine items of two marks, six of technique and three of findings."""
    items = tuple(
        Item(
            id=f"i{n}",
            words=f"Does {n}",
            domain="technique" if n < 6 else "findings",
            anchors=("0", "1", "2"),
        )
        for n in range(9)
    )
    return Station(
        id=name,
        title=name,
        topic="ligaments",
        minutes=8,
        items=items,
        task="Go.",
        volunteer="Lie.",
        equipment=(),
    )


def cohort(
    *sheets: tuple[str, str, str, str], rules: Rules = FIXED, weights: tuple[float, ...] = ()
) -> Cohort:
    """An exam from sheets: candidate, station, examiner and nine marks, a letter for why there is none."""
    gone = {"o": "not_observed", "f": "not_offered", "r": "not_reached", "a": "absent", "v": "station_void"}
    rows = [
        f"{who},A,{place},{examiner},i{n},{gone.get(mark, mark)},{gone.get(marks[0], '2')}"
        for who, place, examiner, marks in sheets
        for n, mark in enumerate(marks)
    ]
    stations = [station(name) for name in dict.fromkeys(place for _, place, _, _ in sheets)]
    if weights:
        items = tuple(
            replace(each, weight=weight) for each, weight in zip(stations[0].items, weights, strict=True)
        )
        stations[0] = replace(stations[0], items=items)
    marks = read_marks("\n".join([HEADER, *rows, ""]), blueprint=blueprint_of(stations))
    return Cohort(
        exam="An exam",
        held_on=date(2031, 5, 6),
        marks=marks,
        results=decide(marks, rules),
        stations=tuple(stations),
    )


@pytest.mark.parametrize(
    ("marks", "rules", "says"),
    [
        # 11 of 18 by hand
        ("210120122", FIXED, "11 of 18 marks, which is 61.1%"),
        # technique 2 1 0 1 - 0 of 10: 4/10 of its 12 marks are 4.8; findings 5 of 6: 9.8 of 18
        (
            "2101o0122",
            FIXED,
            "9 of 16 marks, 1 not observed: filled in to 18 as the rest of the same kind, which is 54.4%",
        ),
        (
            "21of20122",
            FIXED,
            (
                "10 of 14 marks, 1 not observed and 1 not offered: "
                "too much to be filled in, so that there is no score"
            ),
        ),
        # what the bell came before is 0 by rule: 7 of 18
        (
            "2101201rr",
            replace(FIXED, unreached=Unreached.NOT_DONE),
            "7 of 18 marks, 2 items not reached and so not done, which is 38.9%",
        ),
        ("aaaaaaaaa", FIXED, "no mark (absent)"),
        ("vvvvvvvvv", FIXED, "no mark (station void)"),
    ],
)
def test_a_sheet_says_how_its_score_comes_about(marks: str, rules: Rules, says: str) -> None:
    """Earned of what could be had, what is missing and what became of it, and the score decided on."""
    exam = cohort(("C1", "one", "E1", marks), ("C2", "one", "E1", "222222222"), rules=rules)
    assert sheet_grounds(exam, 0) == (SheetGround(station="one", examiner="E1", words=says),)


def test_weights_and_second_examiners_are_told() -> None:
    """A weight of three counts thrice; two examiners make two sheets, whose mean is the station's score."""
    exam = cohort(
        ("C1", "one", "E1", "200000000"),
        ("C1", "one", "E2", "020000000"),
        ("C2", "one", "E1", "222222222"),
        weights=(3, 1, 1, 1, 1, 1, 1, 1, 1),
    )
    first, second = sheet_grounds(exam, 0)
    assert (first.examiner, first.words) == ("E1", "6 of 22 weighted marks, which is 27.3%")
    assert (second.examiner, second.words) == ("E2", "2 of 22 weighted marks, which is 9.1%")
    assert exam.results.scores.station[0, 0] == pytest.approx(100 * 8 / 44)
    assert "of two examiners their mean" in how_scored(exam, whose="your")


@pytest.mark.parametrize(
    ("rules", "says"),
    [
        (Rules(resamples=200), "the pass mark is the mean of those of the stations taken."),
        (FIXED, "the pass mark is one for the whole exam."),
        (
            replace(FIXED, sem=4.0, sem_multiple=1.0),
            "exam, and 1 standard error of measurement of the stations taken on top.",
        ),
    ],
)
def test_how_stations_make_the_whole_is_said_by_the_rules(rules: Rules, says: str) -> None:
    """The mean of the scores, against the pass mark that the rules give."""
    sheets = [(f"C{n}", place, "E1", f"{n % 3}1{n % 2}111111") for n in range(6) for place in ("one", "two")]
    exam = cohort(*sheets, rules=FIXED)
    exam = replace(exam, results=replace(exam.results, rules=rules))
    told = how_scored(exam, whose="your")
    assert told.startswith(
        "A station's score is what was earned of its marks, in percent; your score is their mean"
    )
    assert told.endswith(says)
