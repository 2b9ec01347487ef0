from dataclasses import replace
from math import isnan, nan
from typing import Any

import pytest

from fabella.exam import (
    Act,
    Candidate,
    Choice,
    Day,
    Dispute,
    Examiner,
    How,
    Missing,
    Phase,
    Round,
    Sheet,
    Station,
    WatchedSheet,
    alike,
    behind,
    bell_at,
    how_of,
    overdue,
    silent,
)
from tests.exam.test_sheets import STATION

DAY = Day(
    stations=("one", "two"),
    circuits=("A",),
    rounds=(Round(begins_min=540), Round(begins_min=600, extra_share=0.25)),
    examiners=(Examiner(id="E"),),
    candidates=(Candidate(id="C"),),
)
WHOLE = Sheet(number=9, marks=dict.fromkeys(("look", "feel", "move"), 1), grade=2, finished=True)


def watched(
    sheet: Sheet = WHOLE, *, examiner: str = "E", station: Station = STATION, **more: Any
) -> WatchedSheet:
    """A sheet of a stop from 9:00 to 9:08."""
    about: dict[str, Any] = {"ends_min": 548, "finished_min": 548}
    return WatchedSheet(
        candidate="C",
        station="one",
        examiner=examiner,
        sheet=sheet,
        how=how_of(sheet, station),
        **about | more,
    )


@pytest.mark.parametrize(
    ("now", "phase", "turn", "step", "until"),
    [
        (539.9, Phase.BEFORE, 0, 0, 540),
        (540, Phase.STATION, 0, 0, 548),
        (548, Phase.CHANGE, 0, 0, 550),
        (550, Phase.STATION, 0, 1, 558),
        (558, Phase.BETWEEN, 1, 0, 600),
        (609.9, Phase.STATION, 1, 0, 610),
        (610, Phase.CHANGE, 1, 0, 612),
        (621.9, Phase.STATION, 1, 1, 622),
    ],
)
def test_the_clock_shows_the_next_bell(now: float, phase: Phase, turn: int, step: int, until: float) -> None:
    """Station, change and rest follow each other; a longer round rings later; no change ends a round."""
    bell = bell_at(DAY, now)
    assert (bell.phase, bell.turn, bell.step, bell.until_min) == (phase, turn, step, until)


def test_after_the_last_bell_there_is_none() -> None:
    """The day is over when the last station is."""
    bell = bell_at(DAY, 622)
    assert bell.phase is Phase.AFTER
    assert isnan(bell.until_min)


def test_a_sheet_is_whole_only_with_every_mark_and_a_grade() -> None:
    """A reason for no mark fills an item, a gap or a missing grade does not."""
    assert how_of(Sheet(), STATION) is How.NOT_BEGUN
    assert how_of(replace(WHOLE, finished=False), STATION) is How.GOING
    assert how_of(WHOLE, STATION) is How.FINISHED
    assert how_of(replace(WHOLE, grade=None), STATION) is How.HALF_EMPTY
    assert how_of(replace(WHOLE, marks={"look": 1}), STATION) is How.HALF_EMPTY
    filled: dict[str, int | Missing] = {"look": 1, "feel": Missing.NOT_OBSERVED, "move": Missing.NOT_OFFERED}
    assert how_of(replace(WHOLE, marks=filled), STATION) is How.FINISHED


def test_what_is_overdue_is_told_oldest_first() -> None:
    """Only sheets whose bell has gone count, and only those that are not finished whole."""
    old, new, done = watched(Sheet(), ends_min=530.0), watched(Sheet()), watched()
    later = watched(Sheet(), ends_min=nan)
    assert overdue((new, done, old, later), 548) == (old, new)
    assert overdue((new,), 547.9) == ()


def test_an_examiner_who_grades_everybody_alike_is_named() -> None:
    """Five alike are named, four are not, and five of which one differs are not."""
    other = replace(WHOLE, grade=3)
    sheets = [watched(examiner="same")] * 5 + [watched(examiner="few")] * 4 + [watched(examiner="open")] * 4
    sheets += [watched(other, examiner="open")]
    assert [(each.examiner, each.grade, each.number) for each in alike(sheets)] == [("same", 2, 5)]


def test_an_examiner_who_runs_late_is_named_with_the_middle_delay() -> None:
    """One forgotten sheet makes nobody late; three sheets two minutes after the bell do."""
    sheets = [watched(examiner="late", finished_min=548 + each) for each in (1, 2, 3)]
    sheets += [watched(examiner="once", finished_min=548 + each) for each in (0, 0, 40)]
    sheets += [watched(examiner="moved", finished_min=590, ends_min=nan)] * 3
    assert [(each.examiner, each.late_min, each.number) for each in behind(sheets)] == [("late", 2, 3)]


def test_an_examiner_of_whom_nothing_arrives_is_named() -> None:
    """Two blank sheets in a row whose bell has gone are named, with the last that was finished; one is not.

    What was blank before something arrived is a candidate missed, and no tablet without a connection.
    """
    ends = (510.0, 520.0, 530.0, 540.0)
    gone = [watched(Sheet(), examiner="gone", ends_min=each, finished_min=None) for each in ends[2:]]
    gone += [watched(examiner="gone", ends_min=each, finished_min=each - 1) for each in ends[:2]]
    never = [watched(Sheet(), examiner="never", ends_min=each, finished_min=None) for each in ends[:2]]
    once = [watched(Sheet(), examiner="once", ends_min=ends[0], finished_min=None)]
    back = [watched(Sheet(), examiner="back", ends_min=each, finished_min=None) for each in ends[:3]]
    back += [watched(examiner="back", ends_min=ends[3], finished_min=541)]
    away = [replace(watched(Sheet(), examiner="away", ends_min=each), how=How.AWAY) for each in ends]
    later = [watched(Sheet(), examiner="later", ends_min=600.0 + each, finished_min=None) for each in ends]
    everybody = {"gone", "never", "once", "back", "away", "later"}
    found = silent((*gone, *never, *once, *back, *away, *later), 548, with_code=everybody)
    assert [(each.examiner, each.number, each.last_min) for each in found] == [
        ("gone", 2, 519.0),
        ("never", 2, None),
    ]


def test_who_marks_on_paper_is_not_asked_for_a_tablet() -> None:
    """Nobody without a code, nobody of whom only paper came, and nobody where nothing but paper came at all.

    Whoever had marked on a tablet before is named still: what waits on it is not on the paper.
    """
    ends = (510.0, 520.0, 530.0)

    def blank(name: str) -> list[WatchedSheet]:
        return [watched(Sheet(), examiner=name, ends_min=each, finished_min=None) for each in ends]

    def typed(name: str) -> WatchedSheet:
        return watched(examiner=name, ends_min=500.0, finished_min=None, on_paper=True)

    tablet = watched(examiner="both", ends_min=490.0)
    names = {"paper", "waits", "both"}

    def named(*sheets: WatchedSheet, with_code: set[str] = names) -> list[str]:
        return [each.examiner for each in silent(sheets, 548, with_code=with_code)]

    every = (*blank("paper"), *blank("waits"), *blank("both"))
    assert named(*every) == ["both", "paper", "waits"]
    assert named(*every, with_code={"both"}) == ["both"]
    assert named(*every, typed("paper"), typed("both")) == []
    assert named(*every, typed("paper"), typed("both"), tablet) == ["both", "waits"]


def test_what_was_left_open_is_waited_for_no_more() -> None:
    """A finished sheet lacks nothing where the lead left a dispute open, be it on a mark or the rating."""
    choices = tuple(Choice(key=str(n), value=n, device="", number=n) for n in (1, 2))
    disputes = tuple(
        Dispute(about=about, item=item, choices=choices)
        for about, item in ((Act.MARK, "look"), (Act.GRADE, ""))
    )
    sheet = replace(WHOLE, marks={"feel": 1, "move": 1}, grade=None, disputes=disputes)
    assert how_of(sheet, STATION) is How.HALF_EMPTY
    left = tuple(replace(each, left="nobody knows") for each in disputes)
    assert how_of(replace(sheet, disputes=left), STATION) is How.FINISHED
