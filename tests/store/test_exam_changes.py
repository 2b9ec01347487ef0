"""A timetable that changes while it is marked, and a sheet that two devices have marked from end to end."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from itertools import count
from threading import Barrier

import pytest
from django.db import connections

from fabella.errors import InputError
from fabella.exam import Act, Candidate, Duty, Timetable, write_timetable
from fabella.store import Moved
from fabella.store.exams.codes import Kind, code_lines
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import Stage
from fabella.store.exams.opening import move
from fabella.store.exams.papers import ANNULLED, holding, put_paper, put_papers
from fabella.store.exams.settling import leave_open, settle_alike
from fabella.store.exams.sheets import all_sheets, led_sheet, sheets_of
from fabella.store.exams.trail import trail_of
from tests.store.exam_days import TIM, bearer, event, marks, opened, say, timetable
from tests.store.people import NOW

pytestmark = pytest.mark.usefixtures("database")

KEY = SheetKey(candidate="C1", station="one", examiner="Edith")
_names = (f"named-for-a-change-{number}" for number in count())


def name() -> str:
    """An id that nobody had before."""
    return next(_names)


def keep(exam: int, table: Timetable) -> None:
    """Keep another timetable."""
    put_paper(TIM, exam, "timetable", write_timetable(table), now=NOW)


def relieve(exam: int, *, beside: bool = False) -> None:
    """Have Rex take over from Edith in all rounds; ``beside``: Fred examines with him."""
    table = timetable()
    duties = [replace(each, examiner="Rex") if each.examiner == "Edith" else each for each in table.duties]
    if beside:
        duties += [Duty(turn=turn, circuit="A", station="one", examiner="Fred") for turn in (0, 1)]
        table = replace(table, day=replace(table.day, examiners_each=2))
    keep(exam, replace(table, duties=tuple(duties)))


def test_whom_a_predecessor_has_marked_is_waited_for_no_more() -> None:
    """The successor's tablet and the lead are told by whom; the others are still to be marked."""
    exam = opened()
    say(bearer(exam, "Edith"), *marks(1, 2, 0), event("grade", grade=2), event("finish"))
    relieve(exam)
    rex = bearer(exam, "Rex")
    told = {"C1": "Edith", "C2": "", "C3": ""}
    assert {each.key.candidate: each.instead for each in sheets_of(rex)} == told
    led = [each for each in all_sheets(TIM, exam) if each.key.examiner == "Rex"]
    assert {each.key.candidate: each.instead for each in led} == told
    assert {each.key.candidate for each in led if each.is_excused} == {"C1"}


def test_marks_of_the_successor_stand_beside_those_of_the_predecessor() -> None:
    """Whoever marks a candidate again is an examiner like any other, and nothing is excused."""
    exam = opened()
    say(bearer(exam, "Edith"), *marks(1))
    relieve(exam)
    rex = bearer(exam, "Rex")
    say(rex, *marks(2))
    kept = {each.key.examiner: each for each in all_sheets(TIM, exam) if each.key.candidate == "C1"}
    assert [(kept[each].instead, kept[each].is_excused) for each in ("Edith", "Rex")] == [("", False)] * 2


def test_where_two_are_to_mark_one_predecessor_stands_for_one() -> None:
    """Of two who are wanted nobody is excused until as many have marked."""
    exam = opened()
    say(bearer(exam, "Edith"), *marks(1))
    relieve(exam, beside=True)
    fred = bearer(exam, "Fred")

    def excused() -> set[str]:
        return {
            each.key.examiner
            for each in all_sheets(TIM, exam)
            if (each.key.candidate, each.key.station) == ("C1", "one") and each.is_excused
        }

    assert excused() == set()
    say(fred, *marks(2))
    assert excused() == {"Rex"}


def test_a_sheet_of_somebody_who_was_taken_off_the_timetable_keeps_its_circuit() -> None:
    """It is that of the latest timetable that had them, whatever the others have become since."""
    exam = opened()
    say(bearer(exam, "Edith"), *marks(1))
    table = timetable()
    day = replace(table.day, circuits=("A", "B"), candidates=(*table.day.candidates, Candidate(id="C4")))
    seats = tuple(replace(each, circuit="B") if each.candidate == "C1" else each for each in table.seats)
    duties = (*table.duties, *(replace(each, circuit="B") for each in table.duties))
    for taken in ((), ("C1",)):
        left = tuple(each for each in seats if each.candidate not in taken)
        there = tuple(each for each in day.candidates if each.id not in taken)
        keep(exam, Timetable(day=replace(day, candidates=there), seats=left, duties=duties))
    (sheet,) = (each for each in all_sheets(TIM, exam) if each.key == KEY)
    assert (sheet.planned, sheet.circuit) == (None, "B")


def test_who_was_taken_off_the_timetable_after_marks_can_still_read_their_result() -> None:
    """A code can be made for them, and for nobody else who is not in the timetable."""
    exam = opened()
    say(bearer(exam, "Edith"), *marks(1))
    table = timetable()
    for gone in ("C1", "C2"):
        there = tuple(each for each in table.day.candidates if each.id != gone)
        seats = tuple(each for each in table.seats if each.candidate != gone)
        table = replace(table, day=replace(table.day, candidates=there), seats=seats)
    keep(exam, table)
    assert [each.person for each in code_lines(TIM, exam, Kind.CANDIDATE)] == ["C3", "C1"]
    assert bearer(exam, "C1", Kind.CANDIDATE).person == "C1"
    with pytest.raises(InputError, match="not in the timetable"):
        bearer(exam, "C2", Kind.CANDIDATE)


def test_what_one_device_said_holds_wherever_two_disagree() -> None:
    """One reason settles all of it, comments too; whatever that device did not say stays in dispute."""
    exam = opened()
    edith = bearer(exam, "Edith")
    say(edith, *marks(0, 1, 2), event("grade", grade=1), event("comment", text="slow"))
    say(edith, *marks(1, 2), event("grade", grade=3), event("comment", text="sure"), device="tablet-2")
    say(edith, *marks(0, 1, 0), device="tablet-3")
    sheet, entries = led_sheet(TIM, exam, KEY)
    assert len(sheet.disputes) == 5
    second = entries[5].key
    with pytest.raises(Moved):
        settle_alike(TIM, exam, KEY, like=second, reason="asked her", seen=3, now=NOW, name=name)
    with pytest.raises(InputError, match="not in dispute"):
        settle_alike(TIM, exam, KEY, like="none", reason="asked her", seen=sheet.number, now=NOW, name=name)
    assert led_sheet(TIM, exam, KEY)[0].number == sheet.number, "nothing is kept of what was refused"
    with pytest.raises(InputError, match="reason"):
        settle_alike(TIM, exam, KEY, like=second, reason=" ", seen=sheet.number, now=NOW, name=name)
    assert led_sheet(TIM, exam, KEY)[0].number == sheet.number, "nor of what had no reason"
    settle_alike(TIM, exam, KEY, like=second, reason="asked her", seen=sheet.number, now=NOW, name=name)
    after, _ = led_sheet(TIM, exam, KEY)
    assert (dict(after.marks), after.grade, after.comments) == (
        {"look": 1, "feel": 2, "move": 2},
        3,
        {"": "sure"},
    )
    assert [each.item for each in after.disputes] == ["move"]
    told = [each.why for each in trail_of(TIM, exam) if each.what == "dispute settled"]
    assert told == ["asked her"] * 4


def test_what_was_left_open_can_be_settled_with_the_rest() -> None:
    """It stands again, as if it had been settled by itself."""
    exam = opened()
    edith = bearer(exam, "Edith")
    say(edith, *marks(0, 1))
    say(edith, *marks(1, 2), device="tablet-2")
    leave_open(TIM, exam, KEY, about=Act.MARK, item="look", reason="not sure", seen=4, now=NOW, name=name)
    sheet, entries = led_sheet(TIM, exam, KEY)
    settle_alike(TIM, exam, KEY, like=entries[0].key, reason="sure", seen=sheet.number, now=NOW, name=name)
    after, _ = led_sheet(TIM, exam, KEY)
    assert (dict(after.marks), after.disputes) == ({"look": 0, "feel": 1}, ())


def test_of_two_leads_who_annul_the_last_two_stations_at_one_moment_one_is_refused() -> None:
    """Each page still saw the other station count; what counts is asked where it is written."""
    exam, both_ready = opened(), Barrier(2)
    move(TIM, exam, Stage.CLOSED, now=NOW)

    def annul(station: str) -> str:
        try:
            both_ready.wait(timeout=30)
            put_paper(TIM, exam, ANNULLED + station, "annulled\n", why="the model broke", now=NOW)
        except InputError as error:
            return str(error)
        else:
            return ""
        finally:
            connections.close_all()

    with ThreadPoolExecutor(2) as pool:
        told = sorted(pool.map(annul, ("one", "two")))
    assert told[0] == ""
    assert "is the last that counts; let another count" in told[1]
    assert len(holding(exam, name__startswith=ANNULLED)) == 1


def test_what_does_not_count_is_not_annulled() -> None:
    """Nor all stations together; of what was refused nothing is kept, and what was undone is done again."""
    exam = opened()
    move(TIM, exam, Stage.CLOSED, now=NOW)
    with pytest.raises(InputError, match=r"one, two.*is the last that counts"):
        put_papers(TIM, exam, {f"{ANNULLED}{each}": "annulled\n" for each in ("one", "two")}, now=NOW)
    assert holding(exam, name__startswith=ANNULLED) == ()
    for text in ("annulled\n", "", "annulled\n"):
        put_paper(TIM, exam, f"{ANNULLED}one", text, now=NOW)
    for station in ("one", "three"):
        with pytest.raises(InputError, match=f"{station}.*does not count"):
            put_paper(TIM, exam, ANNULLED + station, "annulled\n", why="again", now=NOW)
