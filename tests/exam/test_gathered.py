"""Sheets become marks by stated rules: what was never written is never a 0."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from fabella.assess import State, analyse_timing, digest, read_marks, score, write_marks
from fabella.errors import InputError
from fabella.exam import EMPTY, Grade, Mark, Missing, Sheet, Station, Written, marks_of, propose_station
from fabella.protocol import load_protocol

BEGAN = datetime(2031, 5, 6, 9, tzinfo=UTC)


def station(topic: str, name: str) -> Station:
    """A station as proposed."""
    return propose_station(load_protocol(), topic=topic, minutes=8, station_id=name).station


STATIONS = (station("ligaments", "1"), station("menisci", "2"))


def full(place: int, mark: Mark, *, grade: int | None = 2, gaps: int = 0) -> Sheet:
    """A finished sheet with the same mark everywhere, but for some items at the end."""
    items = STATIONS[place].items[: len(STATIONS[place].items) - gaps]
    return Sheet(
        number=3,
        marks={each.id: mark for each in items},
        grade=grade,
        began=BEGAN,
        ended=BEGAN + timedelta(minutes=6),
        finished=True,
    )


def written(candidate: str, place: int, sheet: Sheet, examiner: str = "Ada") -> Written:
    """A sheet with whose it is."""
    return Written(
        candidate=candidate, station=STATIONS[place].id, examiner=examiner, circuit="north", sheet=sheet
    )


def test_marks_grades_and_times_are_those_of_the_sheets() -> None:
    """A full sheet scores all, one of zeros nothing at all, and both took six minutes."""
    sheets = [written("A", 0, full(0, 2)), written("A", 1, full(1, 0)), written("B", 0, full(0, 1, grade=3))]
    marks = marks_of(STATIONS, [*sheets, written("B", 1, full(1, 1))])
    assert np.array_equal(score(marks).station, [[100, 0], [50, 50]])
    assert np.array_equal(marks.grade, [2, 2, 3, 2])
    assert {each.median_s for each in analyse_timing(marks)} == {360.0}


def test_a_zero_was_seen_and_a_gap_was_not() -> None:
    """0 is not done; no mark, or a reason for none, leaves the item out and is never 0."""
    sheets = [
        written("A", 0, full(0, 0)),
        written("B", 0, full(0, 2, gaps=1)),
        written("C", 0, full(0, Missing.NOT_OFFERED)),
    ]
    marks = marks_of(STATIONS[:1], sheets)
    n = len(STATIONS[0].items)
    assert list(np.bincount(marks.state, minlength=6)) == [n - 1, n, 1, n, 0, 0]
    scores = score(marks).station[:, 0]
    assert scores[0] == 0
    assert scores[1] == 100
    assert np.isnan(scores[2])


def test_nobody_wrote_means_absent_unless_somebody_else_did() -> None:
    """An empty sheet is an absence; beside another examiner's sheet of that candidate it was not wanted."""
    sheets = [
        written("A", 0, full(0, 2)),
        written("B", 0, EMPTY),
        written("C", 0, EMPTY),
        written("C", 0, full(0, 1), examiner="Bea"),
    ]
    marks = marks_of(STATIONS[:1], sheets)
    assert marks.n_sheets == 3
    assert {
        marks.candidates[marks.candidate[k]] for k in np.unique(marks.sheet[marks.state == State.ABSENT])
    } == {"B"}
    assert np.isnan(score(marks).total[1])


def test_a_missing_grade_is_counted_and_nothing_else() -> None:
    """A sheet without a global grade keeps its score."""
    marks = marks_of(STATIONS[:1], [written("A", 0, full(0, 2, grade=None)), written("B", 0, full(0, 1))])
    assert np.isnan(marks.grade[0])
    assert score(marks).total[0] == 100


@pytest.mark.parametrize("names", ["54321", "12345", ("5.0", "4.0", "3.0", "2.0", "1.0")])
def test_grades_that_are_named_by_numbers_stay_what_was_touched(names: Sequence[str]) -> None:
    """A scale may be named 5, 4, 3, 2, 1: the step that was touched counts, not the one with that name."""
    grades = tuple(Grade(code=code, name=name, words=name) for code, name in enumerate(names))
    scaled = tuple(replace(each, grades=grades) for each in STATIONS)
    sheets = [
        written(f"C{grade}", place, full(place, 1, grade=grade))
        for grade in range(len(grades))
        for place in (0, 1)
    ]
    marks = marks_of(scaled, sheets)
    assert np.array_equal(marks.grade, np.repeat(range(len(grades)), 2))
    again = read_marks(write_marks(marks), blueprint=marks.blueprint)
    assert digest(again) == digest(marks)


def test_an_exam_without_a_written_sheet_is_refused() -> None:
    """Nothing is analysed where nothing was marked."""
    with pytest.raises(InputError, match="are all empty"):
        marks_of(STATIONS, [written("A", 0, EMPTY)])


def test_a_sheet_that_is_missing_is_no_absence() -> None:
    """Who was marked elsewhere was there: what nobody wrote is not observed, unless it is excused."""
    sheets = [written("A", 0, full(0, 2)), written("A", 1, EMPTY)]
    missing = marks_of(STATIONS, [*sheets, written("B", 0, full(0, 1)), written("B", 1, full(1, 1))])
    excused = marks_of(
        STATIONS,
        [
            sheets[0],
            replace(sheets[1], is_away=True),
            written("B", 0, full(0, 1)),
            written("B", 1, full(1, 1)),
        ],
    )
    for marks, state in ((missing, State.NOT_OBSERVED), (excused, State.ABSENT)):
        rows = (marks.candidate[marks.sheet] == 0) & (marks.station[marks.sheet] == 1)
        assert set(marks.state[rows]) == {state}
        assert np.isnan(score(marks).station[0, 1])


def test_a_sheet_that_is_lost_is_a_station_not_held() -> None:
    """Void is neither absent nor unseen, not even for whoever has no other sheet; marks that came stand."""
    lost = Sheet(number=1, void="the folder was left in a tram")
    came = replace(full(1, 2), void="the folder was left in a tram")
    sheets = [
        written("A", 0, full(0, 2)),
        written("A", 1, lost),
        written("B", 0, lost),
        written("B", 1, came),
    ]
    marks = marks_of(
        STATIONS, [*sheets, replace(written("C", 0, lost), is_away=True), written("C", 1, EMPTY)]
    )
    scores = score(marks)
    assert np.array_equal(scores.station, [[100, np.nan], [np.nan, 100], [np.nan, np.nan]], equal_nan=True)
    states = {
        (marks.candidates[c], s): {
            State(each)
            for each in marks.state[(marks.candidate[marks.sheet] == c) & (marks.station[marks.sheet] == s)]
        }
        for c in range(3)
        for s in range(2)
    }
    assert states["A", 1] == states["B", 0] == states["C", 0] == {State.STATION_VOID}
    assert states["C", 1] == {State.NOT_OBSERVED}, "who has a lost sheet was there"


def test_a_station_lost_for_everybody_leaves_the_exam() -> None:
    """Where every sheet of a station is lost, nobody lacks it: all that was held was taken."""
    lost = Sheet(number=1, void="burnt")
    marks = marks_of(
        STATIONS, [each for who in "AB" for each in (written(who, 0, full(0, 2)), written(who, 1, lost))]
    )
    scores = score(marks)
    assert scores.void[:, 1].all()
    assert np.array_equal(scores.share_taken, [1, 1])
    assert np.array_equal(scores.lowest, scores.highest)


def test_a_station_annulled_is_missed_by_nobody_who_was_there_for_another() -> None:
    """Whoever came late to it takes no harm, though nobody else of their circuit was there either."""
    late = replace(written("B", 1, EMPTY), circuit="south", is_away=True, is_annulled=True)
    sheets = [
        written("A", 0, full(0, 2)),
        replace(written("A", 1, full(1, 2)), is_annulled=True),
        replace(written("B", 0, full(0, 2)), circuit="south"),
        late,
        *(replace(written("C", place, EMPTY), is_annulled=place == 1) for place in (0, 1)),
    ]
    marks = marks_of(STATIONS, sheets)
    assert np.array_equal(score(marks).share_taken, [1, 1, 0])
    assert set(marks.state[marks.candidate[marks.sheet] == 2]) == {State.ABSENT}, "who never came was absent"


def test_a_sheet_that_was_only_opened_is_as_one_that_was_not() -> None:
    """A tablet begins a sheet by itself when its time comes: that alone says nothing of the candidate."""
    opened = Sheet(number=1, began=BEGAN)
    assert opened.is_blank
    marks = marks_of(STATIONS[:1], [written("A", 0, full(0, 2)), written("B", 0, opened)])
    assert set(marks.state[marks.candidate[marks.sheet] == 1]) == {State.ABSENT}


def test_what_was_not_reached_times_the_sheet_out() -> None:
    """Not done is 0, a gap was not observed, what the bell came before is not reached: cut off."""
    items = STATIONS[0].items
    cut = full(0, 2, gaps=2)
    cut = replace(cut, marks={**cut.marks, items[0].id: 0, items[-1].id: Missing.NOT_REACHED})
    marks = marks_of(STATIONS[:1], [written("A", 0, cut), written("B", 0, full(0, 1))])
    own = marks.state[marks.candidate[marks.sheet] == 0]
    assert [own[0], own[-2], own[-1]] == [State.NOT_DONE, State.NOT_OBSERVED, State.NOT_REACHED]
    assert list(marks.timed_out) == [True, False]
    (timing,) = analyse_timing(marks)
    assert timing.timed_out == 1
    assert [each.never_reached for each in timing.items[-2:]] == [0.5, 0.5]
