from datetime import date, timedelta
from itertools import count
from math import nan
from typing import Any

import pytest
from django.db import DatabaseError, connections, transaction

from fabella.assess import Rules, write_rules
from fabella.errors import InputError
from fabella.exam import Act, Missing, Presence, write_station, write_timetable
from fabella.store import Frozen, Moved, NotAllowed, NotThere, Role
from fabella.store.batches import Outcome
from fabella.store.exams import models
from fabella.store.exams.attending import attendance_of, state_presence
from fabella.store.exams.codes import Kind, code_lines, end_code, make_codes, pass_by_code, pass_of
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import Stage, exam_of, exams_of, make_exam
from fabella.store.exams.marking import add_events, read_marks
from fabella.store.exams.opening import move
from fabella.store.exams.papers import papers_of, put_paper, put_papers, station_of, versions_of
from fabella.store.exams.results import is_overtaken, keep_result, released_to, results_of, told_so_far
from fabella.store.exams.settling import call_void, leave_open, reopen, settle
from fabella.store.exams.sheets import all_sheets, led_sheet, sheets_of
from fabella.store.exams.trail import trail_of
from fabella.store.exams.typing_in import PaperSheet, type_in, typists_of
from fabella.store.router import EXAMS
from fabella.store.short_codes import ALPHABET, LENGTH, spaced_code
from tests.store.exam_days import (
    DICE,
    TIM,
    bearer,
    drafted,
    event,
    marks,
    opened,
    say,
    station,
    timetable,
)
from tests.store.people import NOW, actor

pytestmark = pytest.mark.usefixtures("database")

STUDENT = actor("sam", Role.STUDENT)
KEY = SheetKey(candidate="C1", station="one", examiner="Edith")
_names = (f"named-for-the-test-{number}" for number in count())


def name() -> str:
    """An id that nobody had before."""
    return next(_names)


def away(exam: int, candidate: str, presence: Presence, at_min: float = nan, why: str = "ill") -> None:
    """Say whether a candidate is there."""
    state_presence(TIM, exam, candidate, presence, at_min=at_min, why=why, now=NOW)


def numbers(results: Any) -> list[int | None]:
    """Where events were kept."""
    return [each.number for each in results]


# ------------------------------------------------------------------ exams, papers, stages


def test_only_a_teacher_leads() -> None:
    """Nobody else makes, finds or changes an exam."""
    exam = drafted()
    for attempt in (
        lambda: make_exam(STUDENT, "Mine", day=NOW.date(), now=NOW),
        lambda: exams_of(STUDENT),
        lambda: put_paper(STUDENT, exam, "rules", "{}", now=NOW),
        lambda: move(STUDENT, exam, Stage.OPEN, now=NOW),
        lambda: make_codes(STUDENT, exam, Kind.EXAMINER, ["Edith"], now=NOW, dice=DICE),
        lambda: all_sheets(STUDENT, exam),
        lambda: trail_of(STUDENT, exam),
        lambda: results_of(STUDENT, exam),
    ):
        with pytest.raises(NotAllowed):
            attempt()


def test_exams_are_found_by_their_lead() -> None:
    """Name, day and stage come back; a name is used once a day, and has letters; no year is mistyped."""
    exam = make_exam(TIM, "  Finals  spring ", day=NOW.date(), now=NOW)
    assert exam_of(TIM, exam).name == "Finals spring"
    assert exam_of(TIM, exam).stage is Stage.DRAFT
    assert [each.id for each in exams_of(TIM)] == [exam]
    for wrong in ("", "x" * 81, "finals SPRING"):
        with pytest.raises(InputError):
            make_exam(TIM, wrong, day=NOW.date(), now=NOW)
    for mistyped in (date(26, 11, 25), date.max):
        with pytest.raises(InputError, match=r"day: '.*' is out of range"):
            make_exam(TIM, "Finals", day=mistyped, now=NOW)
    assert make_exam(TIM, "Finals spring", day=NOW.date() + timedelta(days=1), now=NOW)
    with pytest.raises(NotThere):
        exam_of(TIM, 99)


def test_every_version_of_a_paper_stays() -> None:
    """The latest holds; the same again makes none; who had not seen it is told; an empty one takes it off."""
    exam = drafted()
    first = papers_of(TIM, exam)[0]
    assert (first.name, first.version) == ("station:one", 1)
    assert put_paper(TIM, exam, "station:one", first.text, now=NOW).version == 1
    other = write_station(station("one")).replace('"Examine."', '"Examine both."')
    second = put_paper(TIM, exam, "station:one", other, now=NOW, why="clearer", seen=1)
    assert (second.version, station_of(exam, "one").version) == (2, 2)
    assert [each.version for each in versions_of(TIM, exam, "station:one")] == [1, 2]
    with pytest.raises(Moved):
        put_paper(TIM, exam, "station:one", first.text, now=NOW, seen=1)
    put_paper(TIM, exam, "rules", "{}", now=NOW)
    put_paper(TIM, exam, "rules", "", now=NOW)
    assert [each.name for each in papers_of(TIM, exam)] == ["station:one", "station:two", "timetable"]
    both = {"rules": "{}", "station:one": first.text}
    with pytest.raises(Moved):
        put_papers(TIM, exam, both, now=NOW, seen={"rules": 0, "station:one": 1})
    assert len(versions_of(TIM, exam, "rules")) == 2, "all of them are kept or none"
    kept = put_papers(TIM, exam, both, now=NOW, seen={"rules": 0, "station:one": 2})
    assert [each.version for each in kept] == [3, 3]


def test_a_wrong_paper_is_refused() -> None:
    """A station under another's name, a timetable that is none or names nobody could mark: none is kept."""
    exam = drafted()
    with pytest.raises(InputError, match="station:two"):
        put_paper(TIM, exam, "station:one", write_station(station("two")), now=NOW)
    with pytest.raises(InputError):
        put_paper(TIM, exam, "timetable", "{}", now=NOW)
    plan = write_timetable(timetable()).replace('"C3"', f'"{"C" * 81}"')
    with pytest.raises(InputError, match=r"timetable: 'C+ …' is too long a name; write up to 80 letters"):
        put_paper(TIM, exam, "timetable", plan, now=NOW)
    assert len(versions_of(TIM, exam, "timetable")) == 1


def test_an_exam_goes_its_way() -> None:
    """Draft, open, closed, released; a step back needs a reason, and no step is left out."""
    exam = drafted()
    for wrong in (Stage.CLOSED, Stage.RELEASED, Stage.DRAFT):
        with pytest.raises(Frozen):
            move(TIM, exam, wrong, now=NOW)
    move(TIM, exam, Stage.OPEN, now=NOW)
    move(TIM, exam, Stage.CLOSED, now=NOW)
    with pytest.raises(InputError, match="decide first"):
        move(TIM, exam, Stage.RELEASED, now=NOW)
    with pytest.raises(InputError, match="is no reason"):
        move(TIM, exam, Stage.OPEN, now=NOW)
    move(TIM, exam, Stage.OPEN, why="a tablet had not sent", now=NOW)
    with pytest.raises(Frozen, match="closed"):
        keep_result(TIM, exam, "{}", now=NOW)
    move(TIM, exam, Stage.CLOSED, now=NOW)
    keep_result(TIM, exam, "{}", now=NOW)
    move(TIM, exam, Stage.RELEASED, now=NOW)
    with pytest.raises(Frozen, match="released"):
        put_paper(TIM, exam, "rules", "{}", now=NOW)


def test_the_usual_rules_are_kept_at_the_opening_and_by_nobody_else() -> None:
    """Whoever opens an exam keeps them unseen; nobody writes them, and the trail says who kept them."""
    exam = drafted()
    with pytest.raises(InputError, match="is kept by the program; declare rules instead"):
        put_paper(TIM, exam, "usual rules", write_rules(Rules()), now=NOW)
    assert not versions_of(TIM, exam, "usual rules")
    usual = Rules(least_stations=0.4)
    move(TIM, exam, Stage.OPEN, now=NOW, usual=usual)
    (kept,) = versions_of(TIM, exam, "usual rules")
    assert (kept.text, kept.at) == (write_rules(usual), NOW)
    assert ("version 1 kept by the program", "usual rules") in [
        (each.what, each.about) for each in trail_of(TIM, exam)
    ]
    move(TIM, exam, Stage.CLOSED, now=NOW)
    move(TIM, exam, Stage.OPEN, why="a tablet had not sent", now=NOW)
    assert len(versions_of(TIM, exam, "usual rules")) == 1


def test_what_is_wanting_is_told_before_an_exam_opens() -> None:
    """Without timetable or stations, or with a timetable that breaks a rule, it stays a draft."""
    exam = make_exam(TIM, "Bare", day=NOW.date(), now=NOW)
    with pytest.raises(InputError, match="timetable"):
        move(TIM, exam, Stage.OPEN, now=NOW)
    put_paper(TIM, exam, "timetable", write_timetable(timetable(duties=())), now=NOW)
    with pytest.raises(InputError) as error:
        move(TIM, exam, Stage.OPEN, now=NOW)
    assert "'one' is not written" in str(error.value)
    assert "0 examiners" in str(error.value)


def test_a_station_that_was_used_is_not_altered() -> None:
    """Once open no station gets a version; the timetable can be planned anew until the exam is closed."""
    exam = opened()
    with pytest.raises(Frozen):
        put_paper(TIM, exam, "station:one", write_station(station("one")), now=NOW)
    assert put_paper(TIM, exam, "timetable", write_timetable(timetable(duties=())), now=NOW).version == 2
    move(TIM, exam, Stage.DRAFT, why="a slip in the wording", now=NOW)
    changed = write_station(station("one")).replace('"Examine."', '"Examine it."')
    assert put_paper(TIM, exam, "station:one", changed, now=NOW).version == 2


def test_an_exam_with_marks_is_no_draft_again() -> None:
    """Once anything is marked the exam can be closed, and not altered."""
    exam = opened()
    say(bearer(exam, "Edith"), *marks(1))
    with pytest.raises(InputError, match="close it instead"):
        move(TIM, exam, Stage.DRAFT, why="a slip", now=NOW)


# ------------------------------------------------------------------ codes


def test_a_code_opens_however_it_is_typed_and_is_kept_as_a_hash_alone() -> None:
    """Small letters and spaces do no harm; no table holds the code."""
    exam = opened()
    ((person, code),) = make_codes(TIM, exam, Kind.EXAMINER, ["Edith"], now=NOW, dice=DICE)
    assert (person, len(code), set(code) <= set(ALPHABET)) == ("Edith", LENGTH, True)
    found = pass_by_code(f" {spaced_code(code).lower()} ")
    assert (found.exam_id, found.kind, found.person) == (exam, Kind.EXAMINER, "Edith")
    assert pass_of(found.code_id) == found
    with pytest.raises(NotThere):
        pass_by_code("CCCCCCCC")
    assert code not in str(list(models.ExamCode.objects.values()))


def test_a_new_code_ends_the_old_one_and_so_does_the_lead() -> None:
    """Only the last code of somebody lets them in; taken back, none does; all of it is in the trail."""
    exam = opened()
    first, second = bearer(exam, "Edith"), bearer(exam, "Edith")
    assert pass_of(first.code_id) is None
    assert pass_of(second.code_id) == second
    end_code(TIM, exam, Kind.EXAMINER, "Edith", now=NOW)
    assert pass_of(second.code_id) is None
    with pytest.raises(NotThere):
        end_code(TIM, exam, Kind.EXAMINER, "Edith", now=NOW)
    done = [(each.what, each.about) for each in trail_of(TIM, exam) if "code" in each.what]
    made = ("examiner codes made", "Edith")
    assert done == [made, made, ("examiner code taken back", "Edith")]


def test_codes_are_for_people_of_the_timetable() -> None:
    """A stranger gets none, nobody gets none; the list says who has one."""
    exam = opened()
    with pytest.raises(InputError, match="did you mean 'Edith'"):
        make_codes(TIM, exam, Kind.EXAMINER, ["Edit"], now=NOW, dice=DICE)
    with pytest.raises(InputError):
        make_codes(TIM, exam, Kind.CANDIDATE, [], now=NOW, dice=DICE)
    made = make_codes(TIM, exam, Kind.CANDIDATE, ["C1", "C2"], now=NOW, dice=DICE)
    assert len({code for _, code in made}) == 2
    lines = code_lines(TIM, exam, Kind.CANDIDATE)
    assert [(each.person, each.at) for each in lines] == [("C1", NOW), ("C2", NOW), ("C3", None)]


# ------------------------------------------------------------------ marking


def test_events_are_kept_once_in_order_and_answered_the_same() -> None:
    """A batch is numbered as it was sent; sent again, in part or whole, it is answered the same."""
    exam = opened()
    edith = bearer(exam, "Edith")
    batch = [event("begin"), *marks(2, "not_observed"), event("grade", grade=3)]
    first = say(edith, *batch)
    assert numbers(first) == [1, 2, 3, 4]
    assert say(edith, *batch[1:3]) == first[1:3]
    assert numbers(say(edith, *batch, event("finish"))) == [1, 2, 3, 4, 5]
    sheet, _ = led_sheet(TIM, exam, KEY)
    assert (dict(sheet.marks), sheet.grade) == ({"look": 2, "feel": Missing.NOT_OBSERVED}, 3)
    assert (sheet.number, sheet.finished) == (5, True)


def test_each_sheet_counts_for_itself() -> None:
    """One batch may hold events of several candidates; each sheet has its own order."""
    exam = opened()
    edith = bearer(exam, "Edith")
    batch = [event("begin", candidate="C1"), event("begin", candidate="C2"), *marks(1, 1, candidate="C2")]
    assert numbers(say(edith, *batch)) == [1, 1, 2, 3]


def test_an_id_that_was_used_for_something_else_is_refused() -> None:
    """The same id with another mark, or for another candidate, is no repeat."""
    exam = opened()
    edith = bearer(exam, "Edith")
    (made,) = marks(2)
    say(edith, made)
    for other in ({**made, "mark": 1}, {**made, "candidate": "C2"}):
        (answer,) = say(edith, other)
        assert answer.outcome is Outcome.REFUSED
        assert answer.problems[0].says == "was used for something else"


def test_what_is_wrong_is_refused_and_the_rest_is_kept() -> None:
    """A strange item, a key that is none and a settlement do not hold up what else was sent."""
    exam = opened()
    edith = bearer(exam, "Edith")
    batch = [
        event("mark", item="dance", mark=1),
        event("mark", item="look", mark=1) | {"id": "short"},
        event("settle", of="mark", item="look", holds="", reason="mine"),
        *marks(1),
    ]
    answers = say(edith, *batch)
    assert [each.outcome.value for each in answers] == ["refused", "refused", "refused", "saved"]
    assert answers[-1].number == 1


def test_a_finished_sheet_needs_a_reason() -> None:
    """After the end a mark is refused, until the sheet was opened again with a reason."""
    exam = opened()
    edith = bearer(exam, "Edith")
    say(edith, *marks(1, 1, 1), event("finish"))
    assert say(edith, *marks(2, seen=4))[0].outcome is Outcome.REFUSED
    assert say(edith, event("reopen", reason=""))[0].outcome is Outcome.REFUSED
    answers = say(edith, event("reopen", reason="wrong candidate's row", seen=4), *marks(2, seen=5))
    assert numbers(answers) == [5, 6]
    assert led_sheet(TIM, exam, KEY)[0].marks["look"] == 2


def test_an_examiner_has_their_own_sheets_and_no_other() -> None:
    """Another station's candidate is not theirs, whoever examines there; a candidate's pass marks nothing."""
    exam = opened()
    edith, fred = bearer(exam, "Edith"), bearer(exam, "Fred")
    assert [each.key.candidate for each in sheets_of(edith)] == ["C1", "C2", "C3"]
    assert {each.key.station for each in sheets_of(fred)} == {"two"}
    say(fred, *marks(1, station="two"))
    assert say(edith, *marks(1, station="two"))[0].outcome is Outcome.REFUSED
    candidate = bearer(exam, "C1", Kind.CANDIDATE)
    for attempt in (
        lambda: sheets_of(candidate),
        lambda: add_events(candidate, [event("begin")], device="x", now=NOW),
    ):
        with pytest.raises(NotAllowed):
            attempt()


def test_two_exams_do_not_mix() -> None:
    """The same names in another exam are other people; the same id may be used there."""
    one, other = opened(), opened()
    (made,) = marks(2)
    assert say(bearer(one, "Edith"), made)[0].number == 1
    assert led_sheet(TIM, other, KEY)[0].number == 0
    assert say(bearer(other, "Edith"), made)[0].number == 1


def test_nothing_is_kept_while_the_exam_is_not_open() -> None:
    """Before and after, the tablet is told to keep it; opened again, all of it is kept."""
    exam = opened()
    edith = bearer(exam, "Edith")
    batch = list(marks(1, 2))
    move(TIM, exam, Stage.CLOSED, now=NOW)
    with pytest.raises(Frozen, match="stays on this device"):
        say(edith, *batch)
    move(TIM, exam, Stage.OPEN, why="a tablet had not sent", now=NOW)
    assert numbers(say(edith, *batch)) == [1, 2]


def test_marks_arrive_though_the_timetable_changed_meanwhile() -> None:
    """What was marked before somebody was replaced is kept, and is on the list of who marked it."""
    exam = opened()
    edith, rex = bearer(exam, "Edith"), bearer(exam, "Rex")
    table = timetable()
    duties = tuple(
        each
        if each.station == "two"
        else type(each)(turn=each.turn, circuit="A", station="one", examiner="Rex")
        for each in table.duties
    )
    put_paper(TIM, exam, "timetable", write_timetable(timetable(duties=duties)), now=NOW)
    assert say(edith, *marks(1))[0].number == 1
    assert [(each.key.candidate, each.planned) for each in sheets_of(edith)] == [("C1", None)]
    assert len(sheets_of(rex)) == 3


def test_a_batch_that_is_none_is_refused() -> None:
    """No text makes anything but events or one message."""
    for text in ("", "[]", '{"operations": [1]}', '{"operations": ' + str([{}] * 501) + "}"):
        with pytest.raises(InputError):
            read_marks(text)
    assert read_marks('{"operations": [{"id": "x"}]}') == ({"id": "x"},)


# ------------------------------------------------------------------ the lead


def test_the_lead_sees_every_sheet() -> None:
    """All six sheets are there, with what stands on them; a second look folds only what is new."""
    exam = opened()
    say(bearer(exam, "Edith"), *marks(1))
    sheets = {each.key: each.sheet for each in all_sheets(TIM, exam)}
    assert len(sheets) == 6
    assert sheets[KEY].number == 1
    say(bearer(exam, "Fred"), *marks(2, station="two"))
    say(bearer(exam, "Edith"), *marks(2, seen=1))
    sheets = {each.key: each.sheet for each in all_sheets(TIM, exam)}
    assert [sheets[KEY].marks["look"], sum(each.number for each in sheets.values())] == [2, 3]


def test_the_lead_settles_a_dispute_with_a_reason() -> None:
    """What holds is said once, by somebody who has seen all of it; it is in the trail."""
    exam = opened()
    edith = bearer(exam, "Edith")
    say(edith, *marks(1))
    say(edith, *marks(2), device="tablet-2")
    sheet, entries = led_sheet(TIM, exam, KEY)
    assert [each.value for each in sheet.disputes[0].choices] == [1, 2]
    about: dict[str, Any] = {"about": Act.MARK, "item": "look", "now": NOW, "name": name}
    with pytest.raises(Moved):
        settle(TIM, exam, KEY, holds=entries[1].key, reason="asked her", seen=1, **about)
    with pytest.raises(InputError):
        settle(TIM, exam, KEY, holds=entries[1].key, reason=" ", seen=2, **about)
    with pytest.raises(InputError, match="not in dispute"):
        settle(TIM, exam, KEY, holds="no such event", reason="asked her", seen=2, **about)
    settle(TIM, exam, KEY, holds=entries[1].key, reason="asked her", seen=2, **about)
    sheet, _ = led_sheet(TIM, exam, KEY)
    assert (sheet.marks["look"], sheet.disputes) == (2, ())
    assert ("dispute settled", "asked her") in [(each.what, each.why) for each in trail_of(TIM, exam)]


def test_the_lead_opens_a_finished_sheet_again() -> None:
    """With a reason, and not one that is open."""
    exam = opened()
    edith = bearer(exam, "Edith")
    say(edith, *marks(1), event("finish"))
    reopen(TIM, exam, KEY, reason="wrong candidate", seen=2, now=NOW, name=name)
    assert not led_sheet(TIM, exam, KEY)[0].finished
    with pytest.raises(InputError, match="is open"):
        reopen(TIM, exam, KEY, reason="again", seen=3, now=NOW, name=name)


def test_paper_is_typed_twice_and_compared() -> None:
    """What two people typed differently, or one left out, is in dispute; what they typed alike is not."""
    exam = opened()
    one = PaperSheet(marks={"look": 1, "feel": Missing.NOT_OFFERED, "move": 2}, grade=3, comment="kind")
    two = PaperSheet(marks={"look": 2, "feel": Missing.NOT_OFFERED}, grade=3, comment="kind")
    type_in(TIM, exam, KEY, one, typist="ab", now=NOW, name=name)
    sheet, _ = led_sheet(TIM, exam, KEY)
    assert (typists_of(sheet), sheet.finished, sheet.disputes) == (("AB",), True, ())
    for wrong in ("AB ", "", "x" * 20):
        with pytest.raises(InputError):
            type_in(TIM, exam, KEY, two, typist=wrong, now=NOW, name=name)
    type_in(TIM, exam, KEY, two, typist="cd", now=NOW, name=name)
    sheet, _ = led_sheet(TIM, exam, KEY)
    assert typists_of(sheet) == ("AB", "CD")
    differing = {each.item: [one.value for one in each.choices] for each in sheet.disputes}
    assert differing == {"look": [1, 2], "move": [2, None]}
    with pytest.raises(InputError, match="come third"):
        type_in(TIM, exam, KEY, two, typist="ef", now=NOW, name=name)


def test_a_tablet_that_had_begun_is_compared_with_its_paper() -> None:
    """Marks made before the tablet failed are not overwritten by the paper."""
    exam = opened()
    say(bearer(exam, "Edith"), event("begin"), *marks(2))
    for typist in ("AB", "CD"):
        type_in(TIM, exam, KEY, PaperSheet(marks={"look": 1}, grade=2), typist=typist, now=NOW, name=name)
    sheet, _ = led_sheet(TIM, exam, KEY)
    assert [(each.item, each.choices[0].value) for each in sheet.disputes] == [("look", 2)]


def test_a_candidate_reads_nothing_before_the_release() -> None:
    """Before it there is no result for them, and none for an examiner ever."""
    exam = opened()
    candidate, edith = bearer(exam, "C1", Kind.CANDIDATE), bearer(exam, "Edith")
    move(TIM, exam, Stage.CLOSED, now=NOW)
    keep_result(TIM, exam, '{"first": 1}', now=NOW)
    kept = keep_result(TIM, exam, '{"second": 1}', now=NOW)
    with pytest.raises(NotThere):
        released_to(candidate)
    move(TIM, exam, Stage.RELEASED, now=NOW)
    assert released_to(candidate) == kept
    with pytest.raises(NotThere):
        released_to(edith)
    assert [each.number for each in results_of(TIM, exam)] == [1, 2]


# ------------------------------------------------------------------ before it is closed


def disputed(*, act: str = "mark", values: tuple[object, object] = (1, 2)) -> tuple[int, Any]:
    """An exam whose first sheet two tablets wrote on unseen of each other, and its examiner."""
    exam = opened()
    edith = bearer(exam, "Edith")
    about: dict[str, Any] = {"item": "look"} if act in {"mark", "comment"} else {}
    said = {"mark": "mark", "grade": "grade", "concern": "reason", "comment": "text"}[act]
    for device, value in zip(("tablet-1", "tablet-2"), values, strict=True):
        say(edith, event(act, **{**about, said: value}), device=device)
    return exam, edith


@pytest.mark.parametrize(
    ("act", "values"), [("mark", (1, 2)), ("grade", (2, 3)), ("concern", ("rough", "hurried"))]
)
def test_disputes_stand_in_the_way_of_closing(act: str, values: tuple[object, object]) -> None:
    """Two entries that disagree on a mark, the rating or a concern are named, and the exam stays open."""
    exam, _ = disputed(act=act, values=values)
    with pytest.raises(InputError, match="'C1, one, Edith' has two entries that disagree on"):
        move(TIM, exam, Stage.CLOSED, now=NOW)
    assert exam_of(TIM, exam).stage is Stage.OPEN
    _, entries = led_sheet(TIM, exam, KEY)
    item = "look" if act == "mark" else ""
    settle(
        TIM,
        exam,
        KEY,
        about=Act(act),
        item=item,
        holds=entries[1].key,
        reason="asked",
        seen=2,
        now=NOW,
        name=name,
    )
    move(TIM, exam, Stage.CLOSED, now=NOW)


def test_disputes_stand_in_the_way_of_deciding() -> None:
    """An exam that was closed when disputes did not hinder it is not decided before they are settled."""
    exam, _ = disputed()
    models.ExamStage.objects.create(exam_id=exam, stage="closed", why="", by="tim", at=NOW)
    with pytest.raises(InputError, match=r"'C1, one, Edith' has two entries .*; say which holds"):
        keep_result(TIM, exam, '{"first": 1}', now=NOW)
    assert not results_of(TIM, exam)
    about: dict[str, Any] = {"about": Act.MARK, "item": "look", "now": NOW, "name": name}
    leave_open(TIM, exam, KEY, reason="nobody remembers", seen=2, **about)
    assert keep_result(TIM, exam, '{"first": 1}', now=NOW).number == 1


def test_two_comments_that_differ_hinder_nothing() -> None:
    """Words about a candidate decide nothing: the exam can be closed over them."""
    exam, _ = disputed(act="comment", values=("kind", "calm"))
    assert len(led_sheet(TIM, exam, KEY)[0].disputes) == 1
    move(TIM, exam, Stage.CLOSED, now=NOW)


def test_a_dispute_left_open_with_a_reason_is_missing_and_can_be_settled_later() -> None:
    """Nothing stands until it is settled; the trail has the reason; a new entry disputes it again."""
    exam, edith = disputed()
    about: dict[str, Any] = {"about": Act.MARK, "item": "look", "now": NOW, "name": name}
    with pytest.raises(InputError, match="is blank"):
        leave_open(TIM, exam, KEY, reason=" ", seen=2, **about)
    leave_open(TIM, exam, KEY, reason="neither remembers", seen=2, **about)
    sheet, _ = led_sheet(TIM, exam, KEY)
    assert "look" not in sheet.marks
    assert [each.left for each in sheet.disputes] == ["neither remembers"]
    assert not sheet.unsettled
    assert ("dispute left open", "neither remembers") in [
        (each.what, each.why) for each in trail_of(TIM, exam)
    ]
    with pytest.raises(InputError, match="not in dispute"):
        leave_open(TIM, exam, KEY, reason="none", seen=3, **{**about, "item": "feel"})
    say(edith, event("mark", item="look", mark=0, seen=0), device="tablet-3")
    assert led_sheet(TIM, exam, KEY)[0].unsettled
    leave_open(TIM, exam, KEY, reason="nor does a third", seen=4, **about)
    move(TIM, exam, Stage.CLOSED, now=NOW)
    _, entries = led_sheet(TIM, exam, KEY)
    settle(TIM, exam, KEY, holds=entries[0].key, reason="found the paper", seen=5, **about)
    assert led_sheet(TIM, exam, KEY)[0].marks["look"] == 1


def test_an_examiner_can_leave_nothing_open() -> None:
    """To leave a dispute open is the lead's; the event of an examiner is refused."""
    _, edith = disputed()
    (told,) = say(edith, event("leave", of="mark", item="look", reason="mine"))
    assert told.outcome is Outcome.REFUSED


def test_who_is_away_is_said_with_a_reason_and_the_last_word_holds() -> None:
    """Absent, late, left and here again: all stay in the trail, and the last on each holds."""
    exam = opened()
    away(exam, "C1", Presence.LATE, 545, "train")
    away(exam, "C2", Presence.ABSENT)
    away(exam, "C2", Presence.HERE, why="came after all")
    assert {name: each.presence for name, each in attendance_of(exam).items()} == {"C1": Presence.LATE}
    told = [(each.what, each.about, each.why) for each in trail_of(TIM, exam)]
    assert ("candidate late, comes 09:05", "C1", "train") in told
    assert ("candidate here", "C2", "came after all") in told
    excused = {each.key.station for each in all_sheets(TIM, exam) if each.is_excused}
    assert excused == {"one"}, "the second station begins after they have come"
    say(bearer(exam, "Edith"), *marks(1))
    assert not [each for each in all_sheets(TIM, exam) if each.is_excused], "who was marked was there"


def test_presence_without_name_time_or_reason_is_refused_at_once() -> None:
    """Everything that is wanting is told together; a student may say nothing."""
    exam = opened()
    with pytest.raises(InputError) as refused:
        away(exam, "C9", Presence.LATE, why="")
    assert [each.place for each in refused.value.problems] == ["candidate", "time", "why"]
    with pytest.raises(NotAllowed):
        state_presence(STUDENT, exam, "C1", Presence.ABSENT, at_min=nan, why="ill", now=NOW)


def lost(exam: int, *keys: SheetKey, why: str = "left in a tram", **more: bool) -> None:
    """Say that sheets are lost, or not after all."""
    call_void(TIM, exam, keys, reason=why, now=NOW, name=name, **more)


def test_lost_sheets_are_said_with_a_reason_and_taken_back_with_one() -> None:
    """Nobody waits for them, the trail tells both, and it can be said of a closed exam too."""
    exam = opened()
    other = SheetKey(candidate="C2", station="one", examiner="Edith")
    with pytest.raises(InputError, match="is blank"):
        lost(exam, KEY, why=" ")
    lost(exam, KEY, other)
    move(TIM, exam, Stage.CLOSED, now=NOW)
    lost(exam, other, why="found under a chair", is_void=False)
    sheets = {each.key: each for each in all_sheets(TIM, exam)}
    assert sheets[KEY].sheet.is_void
    assert sheets[KEY].is_excused
    assert not sheets[other].is_excused
    assert [(each.what, each.about, each.why) for each in trail_of(TIM, exam) if "lost" in each.what] == [
        ("sheet lost or not held", "C1 at one, Edith", "left in a tram"),
        ("sheet lost or not held", "C2 at one, Edith", "left in a tram"),
        ("sheet not lost after all", "C2 at one, Edith", "found under a chair"),
    ]
    keep_result(TIM, exam, "{}", now=NOW)
    move(TIM, exam, Stage.RELEASED, now=NOW)
    with pytest.raises(Frozen):
        lost(exam, other)


@pytest.mark.parametrize("minutes", [1, -60])
@pytest.mark.parametrize("what", ["sheet", "presence", "rules"])
def test_a_decision_that_was_overtaken_is_not_released(what: str, minutes: int) -> None:
    """What is lost, away or ruled otherwise after it is decided again, though a clock be set back an hour."""
    exam = opened()
    move(TIM, exam, Stage.CLOSED, now=NOW)
    first = keep_result(TIM, exam, "{}", now=NOW)
    assert not is_overtaken(exam, first.at)
    then = NOW + timedelta(minutes=minutes)
    if what == "sheet":
        call_void(TIM, exam, [KEY], reason="left in a tram", now=then, name=name)
    elif what == "presence":
        state_presence(TIM, exam, "C1", Presence.ABSENT, at_min=nan, why="ill", now=then)
    else:
        put_paper(TIM, exam, "rules", "{}", now=then, why="appeal")
    assert is_overtaken(exam, first.at) is (what != "rules")
    with pytest.raises(InputError, match="decide again"):
        move(TIM, exam, Stage.RELEASED, now=then)
    later = NOW + timedelta(minutes=2)
    keep_result(TIM, exam, "{}", now=later)
    move(TIM, exam, Stage.RELEASED, now=later)


def test_a_clock_that_was_set_back_overtakes_no_new_decision() -> None:
    """What was said before it by a clock that went ahead came before it all the same: it can be released."""
    exam = opened()
    move(TIM, exam, Stage.CLOSED, now=NOW)
    ahead = NOW + timedelta(hours=1)
    state_presence(TIM, exam, "C1", Presence.ABSENT, at_min=nan, why="ill", now=ahead)
    put_paper(TIM, exam, "rules", "{}", now=ahead, why="appeal")
    kept = keep_result(TIM, exam, "{}", now=NOW)
    assert not is_overtaken(exam, kept.at)
    call_void(TIM, exam, [KEY], reason="left in a tram", now=NOW, name=name)
    assert is_overtaken(exam, kept.at), "and what comes after it, came after"
    keep_result(TIM, exam, "{}", now=NOW)
    move(TIM, exam, Stage.RELEASED, now=NOW)


@pytest.mark.parametrize("what", ["sheet", "presence", "rules"])
def test_what_is_said_while_it_is_decided_is_in_no_decision(what: str) -> None:
    """Working it out takes seconds: where anything was said meanwhile, the decision rests on what was."""
    exam = opened()
    move(TIM, exam, Stage.CLOSED, now=NOW)
    seen = told_so_far(exam)
    if what == "sheet":
        call_void(TIM, exam, [KEY], reason="left in a tram", now=NOW, name=name)
    elif what == "presence":
        state_presence(TIM, exam, "C1", Presence.ABSENT, at_min=nan, why="ill", now=NOW)
    else:
        put_paper(TIM, exam, "rules", "{}", now=NOW, why="appeal")
    with pytest.raises(Moved, match="was changed meanwhile"):
        keep_result(TIM, exam, "{}", now=NOW, seen=seen)
    assert keep_result(TIM, exam, "{}", now=NOW, seen=told_so_far(exam)).number == 1


@pytest.mark.parametrize("what", ["rules", "weights"])
def test_a_decision_by_other_rules_is_not_released(what: str) -> None:
    """Once rules or weights were changed after it, it is decided again before the release."""
    exam = opened()
    move(TIM, exam, Stage.CLOSED, now=NOW)
    keep_result(TIM, exam, "{}", now=NOW)
    later = NOW + timedelta(minutes=1)
    put_paper(TIM, exam, "allotment", "at random\n", now=later)
    put_paper(TIM, exam, what, "{}", now=later, why="appeal")
    with pytest.raises(InputError, match="decided before rules, weights or the stations that count were"):
        move(TIM, exam, Stage.RELEASED, now=later)
    keep_result(TIM, exam, "{}", now=later)
    move(TIM, exam, Stage.RELEASED, now=later)


def test_a_sheet_with_marks_is_not_lost() -> None:
    """It is named, and of all that were said together none is kept; nor is one lost twice."""
    exam = opened()
    edith = bearer(exam, "Edith")
    say(edith, *marks(1))
    other = SheetKey(candidate="C2", station="one", examiner="Edith")
    with pytest.raises(InputError, match="'C1, one, Edith' has marks; they stand"):
        lost(exam, other, KEY)
    assert not any(each.sheet.void for each in all_sheets(TIM, exam))
    lost(exam, other)
    with pytest.raises(InputError, match="lost already"):
        lost(exam, other)
    with pytest.raises(InputError, match="was not said to be lost"):
        lost(exam, KEY, is_void=False)
    with pytest.raises(NotThere):
        lost(exam, SheetKey(candidate="C9", station="one", examiner="Edith"))
    (told,) = say(edith, event("void", candidate="C3", reason="mine"))
    assert told.outcome is Outcome.REFUSED, "that is for the lead"


def test_marks_that_come_after_all_stand() -> None:
    """A tablet that knew nothing of it is not refused, and its marks count."""
    exam = opened()
    lost(exam, KEY)
    edith = bearer(exam, "Edith")
    assert [each.outcome for each in say(edith, *marks(1, 2, 0))] == [Outcome.SAVED] * 3
    sheet, _ = led_sheet(TIM, exam, KEY)
    assert not sheet.is_void
    assert sheet.void == "left in a tram"
    assert sheet.marks == {"look": 1, "feel": 2, "move": 0}
    assert not sheet.disputes


# ------------------------------------------------------------------ the database itself

TABLES = [
    each._meta.db_table
    for each in (
        models.Exam,
        models.ExamPaper,
        models.ExamStage,
        models.ExamCode,
        models.ExamCodeEnd,
        models.MarkEvent,
        models.ExamResult,
        models.ExamTrace,
        models.ExamPresence,
    )
]


@pytest.fixture
def full(database: str) -> str:
    """An exam with a row in every table; the kind of database."""
    exam = opened()
    bearer(exam, "Edith")
    say(bearer(exam, "Edith"), *marks(1))
    away(exam, "C2", Presence.ABSENT)
    move(TIM, exam, Stage.CLOSED, now=NOW)
    keep_result(TIM, exam, "{}", now=NOW)
    return database


@pytest.mark.parametrize("table", TABLES)
def test_the_database_refuses_to_change_remove_or_replace(full: str, table: str) -> None:
    """No SQL, however it reaches the database, changes or removes anything of an exam."""
    replace = (
        f"TRUNCATE {table} CASCADE"
        if full == "postgresql"
        else f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"  # noqa: S608  a table of ours
    )
    for statement in (f"UPDATE {table} SET id = id", f"DELETE FROM {table}", replace):  # noqa: S608
        with (
            pytest.raises(DatabaseError, match="only ever added to"),
            transaction.atomic(using=EXAMS),
            connections[EXAMS].cursor() as cursor,
        ):
            cursor.execute(statement)


def test_every_table_of_exams_is_tested() -> None:
    """The tables above are all that the app has."""
    from django.apps import apps  # noqa: PLC0415  once the framework runs

    assert {each._meta.db_table for each in apps.get_app_config("exams").get_models()} == set(TABLES)
