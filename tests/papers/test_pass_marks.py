"""What the board reads of the pass mark: only what its method tells, and on how many sheets it rests."""

from __future__ import annotations

from datetime import date

import pytest

from fabella.assess import Analysis, Bounds, CutMethod, Estimates, Marks, Rules, analyse
from fabella.exam import plain_stations
from fabella.papers import Analysed, board_report, station_report
from fabella.papers.pass_marks import few_words
from fabella.report import as_text
from fabella.report.document import Table
from tests.assess.judged_exam import GRADED, marks_of
from tests.assess.made import made_marks

DAY = date(2031, 5, 6)
BOUNDS = (Bounds(lowest_cut=40, highest_cut=65, least_fails=0.05, most_fails=0.3),)
MADE = made_marks(stations=3, candidates=60)
SMALL = marks_of({name: [*sheets, "1,0", "8,2"] for name, sheets in GRADED.items()})
ASK_NO_GRADES = (CutMethod.ANGOFF, CutMethod.HOFSTEE, CutMethod.COHEN, CutMethod.FIXED)
BORDERLINE_GROUP = (CutMethod.BORDERLINE_GROUP_MEAN, CutMethod.BORDERLINE_GROUP_MEDIAN)


def found_by(marks: Marks, method: CutMethod) -> Analysis:
    """An exam whose pass mark was set by a method."""
    judges = Estimates(
        judges=("a", "b"),
        items=marks.blueprint.station_codes,
        share=((0.4,) * marks.n_stations, (0.6,) * marks.n_stations),
        max_mark=(1.0,) * marks.n_stations,
    )
    return analyse(
        marks, Rules(method=method, estimates=(judges,), bounds=BOUNDS, fixed_cut=50, resamples=200)
    )


def stations_of(found: Analysis) -> dict[str, list[str]]:
    """The table of stations in the report to the board, by its header."""
    exam = Analysed(title="An exam", held_on=DAY, analysis=found, alternatives=(), target=0.8, version="0")
    section = next(each for each in board_report(exam).sections if each.heading == "Pass mark")
    table = next(each for each in section.blocks if isinstance(each, Table))
    return {name: [row[k] for row in table.rows] for k, name in enumerate(table.header)}


@pytest.mark.parametrize("method", list(CutMethod))
def test_no_column_of_the_stations_is_all_dashes(method: CutMethod) -> None:
    """By every method each column of the board's table holds a number, and no error is none."""
    columns = stations_of(found_by(MADE, method))
    assert [name for name, cells in columns.items() if set(cells) == {"–"}] == []
    assert not any(cell.endswith(("±–", "±0.0")) for cells in columns.values() for cell in cells)


@pytest.mark.parametrize("method", ASK_NO_GRADES)
def test_a_pass_mark_without_grades_tells_nothing_of_them(method: CutMethod) -> None:
    """Where judges, the cohort or a number set it, no R², step of a grade or borderline sheets stand."""
    assert not {"R²", "Per grade", "Borderline", "Smaller group"} & set(stations_of(found_by(MADE, method)))


def test_only_a_pass_mark_that_has_an_error_at_each_station_says_one() -> None:
    """A line and judges give each station an error; a fixed pass mark and the cohort give none."""
    told = {method: "Pass mark ± its error" in stations_of(found_by(MADE, method)) for method in CutMethod}
    assert told[CutMethod.BORDERLINE_REGRESSION]
    assert told[CutMethod.ANGOFF]
    assert not told[CutMethod.FIXED]
    assert not told[CutMethod.COHEN]
    exam = Analysed(
        title="",
        held_on=DAY,
        analysis=found_by(MADE, CutMethod.FIXED),
        alternatives=(),
        target=0.8,
        version="0",
    )
    text = as_text(station_report(exam, MADE, plain_stations(MADE.blueprint)[0], 0))
    assert "the pass mark is 50.0%, and" in " ".join(text.split())


@pytest.mark.parametrize("method", [CutMethod.BORDERLINE_REGRESSION, *BORDERLINE_GROUP])
def test_each_station_says_how_many_sheets_were_graded_borderline(method: CutMethod) -> None:
    """Counted by hand in the small exam: two sheets at A, one at B, three at C."""
    assert stations_of(found_by(SMALL, method))["Borderline"] == ["2", "1", "3"]


def test_few_borderline_sheets_are_a_caution_with_their_number() -> None:
    """Stations with few are named with how many they have, and whose limit that is; others are not."""
    says = few_words(found_by(SMALL, CutMethod.BORDERLINE_REGRESSION), {"A": "Lachman"})
    assert "Fewer than 5 sheets graded borderline (a limit of ours) at Lachman (2), B (1) and C (3)" in says
    says = few_words(found_by(SMALL, CutMethod.BORDERLINE_GROUP_MEAN), {})
    assert "Fewer than 10 sheets graded borderline (a limit of ours) at A (2), B (1) and C (3)" in says
    many = found_by(MADE, CutMethod.BORDERLINE_REGRESSION)
    assert [page.rests_on for page in many.stations if page.rests_on is None or page.rests_on < 5] == []
    assert few_words(many, {}) == ""
    assert few_words(found_by(SMALL, CutMethod.FIXED), {}) == ""


def test_of_contrasting_groups_the_smaller_is_told() -> None:
    """The pass mark rests on the smaller of those graded above borderline and the others."""
    found = found_by(MADE, CutMethod.CONTRASTING_LOGISTIC)
    above = [int((MADE.grade[MADE.station == s] > 1).sum()) for s in range(3)]
    assert stations_of(found)["Smaller group"] == [str(min(n, 60 - n)) for n in above]
