from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.exam import (
    Act,
    Folding,
    Item,
    Missing,
    Sheet,
    SheetEntry,
    Station,
    event_tree,
    fold,
    read_event,
)

AT = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
STATION = Station(
    id="ligaments",
    title="Ligaments",
    topic="ligaments",
    minutes=8,
    items=tuple(
        Item(id=each, words=f"Does {each}", domain="technique", anchors=("no", "partly", "well"))
        for each in ("look", "feel", "move")
    ),
    task="Examine.",
    volunteer="Lie still.",
    equipment=(),
)
_numbers = count()


def sent(act: str, **about: Any) -> dict[str, Any]:
    """An event as it is sent."""
    return {"act": act, "at": AT.isoformat(), **about}


def mark(item: str, value: Any, **about: Any) -> dict[str, Any]:
    """An event that marks an item."""
    return sent("mark", item=item, mark=value, **about)


def sheet(*events: tuple[str, dict[str, Any]]) -> Sheet:
    """A sheet of events from devices in the order of their arrival; each is taken, and named e1, e2 …"""
    folding = Folding()
    for entry in entries(*events):
        assert folding.takes(entry.event, entry.device)
        folding.add(entry)
    return folding.sheet()


def entries(*events: tuple[str, dict[str, Any]]) -> Iterator[SheetEntry]:
    """Events as entries of a sheet."""
    for number, (device, tree) in enumerate(events, start=1):
        event = read_event(tree, station=STATION)
        yield SheetEntry(number=number, key=f"e{number}", device=device, event=event)


def values(made: Sheet) -> list[tuple[str, list[Any]]]:
    """What is in dispute: each item with the values said of it."""
    return [(each.item or each.about.value, [one.value for one in each.choices]) for each in made.disputes]


def test_a_sheet_says_what_was_said_last() -> None:
    """Marks, reasons for none, grade, comments and concern stand as they were last stated by one device."""
    made = sheet(
        ("a", sent("begin")),
        ("a", mark("look", 1, seconds=12)),
        ("a", mark("look", 2, seconds=14)),
        ("a", mark("feel", "not_offered", seconds=20)),
        ("a", sent("grade", grade=3)),
        ("a", sent("comment", item="look", text=" quick ")),
        ("a", sent("comment", text="a kind manner")),
        ("a", sent("concern", reason="went on though it hurt")),
        ("a", sent("finish", seconds=470)),
    )
    assert dict(made.marks) == {"look": 2, "feel": Missing.NOT_OFFERED}
    assert made.gaps(STATION) == ("move",)
    assert (made.grade, made.concern, made.finished) == (3, "went on though it hurt", True)
    assert dict(made.comments) == {"look": "quick", "": "a kind manner"}
    assert (made.ended_s, made.began, made.ended) == (470, AT, AT)
    assert made.disputes == ()


def test_nothing_said_is_no_zero() -> None:
    """An item without an event, one not observed and one not done are three different things."""
    made = sheet(("a", mark("look", 0)), ("a", mark("feel", "not_observed")))
    assert made.marks["look"] == 0
    assert made.marks["feel"] is Missing.NOT_OBSERVED
    assert made.gaps(STATION) == ("move",)


def test_an_undo_is_an_event_that_states_what_was_before() -> None:
    """Undoing the first touch leaves a gap again; undoing a grade or a concern leaves none."""
    made = sheet(
        ("a", mark("look", 2)),
        ("a", mark("look", None)),
        ("a", sent("grade", grade=4)),
        ("a", sent("grade", grade=None)),
        ("a", sent("concern", reason="hurried")),
        ("a", sent("concern", reason="")),
    )
    assert made.gaps(STATION) == ("look", "feel", "move")
    assert (made.grade, made.concern, made.disputes) == (None, "", ())


def test_two_devices_that_had_not_seen_each_other_are_in_dispute() -> None:
    """Both values stay, the first to arrive stands; the same value said twice is no dispute."""
    made = sheet(
        ("a", mark("look", 1)), ("b", mark("look", 2)), ("a", mark("feel", 2)), ("b", mark("feel", 2))
    )
    assert values(made) == [("look", [1, 2])]
    assert made.marks["look"] == 1
    assert [each.device for each in made.disputes[0].choices] == ["a", "b"]


def test_a_device_that_had_seen_the_other_replaces_it() -> None:
    """What is changed with the earlier value on the screen is a change, not a dispute."""
    made = sheet(("a", mark("look", 1)), ("b", mark("look", 2, seen=1)))
    assert (values(made), made.marks["look"]) == ([], 2)


def test_who_agreed_and_then_changes_unseen_is_in_dispute() -> None:
    """Two said the same unseen of each other; if one then changes alone, the other's word still stands."""
    made = sheet(("a", mark("look", 1)), ("b", mark("look", 1)), ("b", mark("look", 2)))
    assert values(made) == [("look", [1, 2])]


def test_a_device_that_changes_its_own_word_keeps_its_place() -> None:
    """In a dispute each device may go on; its newer word takes the place of its older one."""
    made = sheet(("a", mark("look", 1)), ("b", mark("look", 2)), ("a", mark("look", 0)))
    assert values(made) == [("look", [0, 2])]


def test_grades_comments_and_concerns_can_be_disputed_too() -> None:
    """Whatever two devices say differently is kept twice."""
    made = sheet(
        *(
            ("a", each)
            for each in (sent("grade", grade=1), sent("concern", reason="x"), sent("comment", text="p"))
        ),
        *(
            ("b", each)
            for each in (sent("grade", grade=2), sent("concern", reason=""), sent("comment", text="q"))
        ),
    )
    assert values(made) == [("grade", [1, 2]), ("concern", ["x", None]), ("comment", ["p", "q"])]


def test_a_finished_sheet_takes_nothing_from_who_knows_it() -> None:
    """The device that finished, and one that was shown the finish, must open the sheet again first."""
    made = Folding(entries(("a", mark("look", 1)), ("a", sent("finish"))))
    assert not made.takes(read_event(mark("look", 2), station=STATION), "a")
    assert not made.takes(read_event(mark("look", 2, seen=2), station=STATION), "b")
    assert made.takes(read_event(sent("reopen", reason="wrong row"), station=STATION), "a")
    assert not Folding().takes(read_event(sent("reopen", reason="wrong row"), station=STATION), "a")


def test_a_sheet_that_was_opened_again_can_be_changed_and_finished() -> None:
    """After a reason the sheet is as before; the reason stays."""
    made = sheet(
        ("a", mark("look", 1)),
        ("a", sent("finish")),
        ("a", sent("reopen", reason="touched the wrong row")),
        ("a", mark("look", 2)),
    )
    assert (made.finished, made.reopened, made.marks["look"]) == (False, ("touched the wrong row",), 2)
    assert values(made) == []


def test_what_comes_after_a_finish_that_was_not_seen_is_kept_beside() -> None:
    """A late device neither changes a finished sheet nor is lost, though it had seen the value it changes."""
    made = sheet(
        ("a", mark("look", 1)),
        ("a", sent("finish")),
        ("b", mark("look", 2, seen=1)),
        ("b", mark("feel", 1, seen=1)),
        ("b", mark("feel", 2, seen=1)),
    )
    assert made.finished
    assert values(made) == [("look", [1, 2]), ("feel", [None, 2])]
    assert made.gaps(STATION) == ("feel", "move"), "what stands is what stood at the finish"
    assert [each.is_late for each in made.disputes[0].choices] == [False, True]


def test_a_late_device_that_says_the_same_disputes_nothing() -> None:
    """A second tablet with the same marks and its own finish leaves the sheet finished and undisputed."""
    made = sheet(("a", mark("look", 1)), ("a", sent("finish")), ("b", mark("look", 1)), ("b", sent("finish")))
    assert (made.finished, made.disputes, made.finishers) == (True, (), ("a", "b"))


def test_the_lead_says_which_holds() -> None:
    """A settlement ends a dispute with the event it names; who had not seen it may differ again."""
    told = [("a", mark("look", 1)), ("b", mark("look", 2))]
    held = ("lead", sent("settle", of="mark", item="look", holds="e2", reason="asked both", seen=2))
    assert sheet(*told, held).marks["look"] == 2
    assert sheet(*told, held).disputes == ()
    assert values(sheet(*told, held, ("a", mark("look", 0, seen=1)))) == [("look", [2, 0])]
    assert sheet(*told, held, ("a", mark("look", 0, seen=3))).marks["look"] == 0


def test_nothing_may_be_what_holds() -> None:
    """Where one side had said nothing before the finish, the lead can leave it at that."""
    told = [("a", sent("finish")), ("b", mark("look", 2))]
    settled = ("lead", sent("settle", of="mark", item="look", holds="", reason="typed in error", seen=2))
    assert sheet(*told, settled).gaps(STATION) == ("look", "feel", "move")


def test_only_what_is_disputed_can_be_settled() -> None:
    """A settlement of what nobody disputes, or by an event of something else, is none."""
    made = Folding(entries(("a", mark("look", 1)), ("b", mark("look", 2)), ("a", mark("feel", 2))))
    for item, holds, right in (("look", "e1", True), ("look", "e3", False), ("feel", "e3", False)):
        event = read_event(sent("settle", of="mark", item=item, holds=holds, reason="r"), station=STATION)
        assert made.settles(event) is right


def test_the_devices_clock_is_set_right_where_it_is_known() -> None:
    """A tablet that is two minutes ahead began two minutes earlier than it says."""
    made = sheet(("a", sent("begin", ahead_s=120.0)))
    assert made.began == AT - timedelta(minutes=2)


@pytest.mark.parametrize("act", ["begin", "finish"])
@pytest.mark.parametrize(("at", "ahead_s"), [("0001-06-01", 3e9), ("9999-06-01", -3e9), ("9999-06-01", 0)])
def test_a_time_that_no_clock_shows_is_refused(act: str, at: str, ahead_s: float) -> None:
    """Set right it would be no day of the calendar: kept, it would end every page with the sheet on it."""
    with pytest.raises(InputError, match="is no time"):
        read_event(sent(act, at=f"{at}T09:00:00Z", ahead_s=ahead_s), station=STATION)


def test_a_clock_that_lost_its_battery_is_set_right() -> None:
    """A tablet that believes in 1970 is taken at its word, and its sheet has the time of the server."""
    then = datetime(1970, 1, 1, tzinfo=UTC)
    made = sheet(("a", sent("begin", at=then.isoformat(), ahead_s=(then - AT).total_seconds())))
    assert made.began == AT


def test_everything_wrong_with_an_event_is_told_at_once() -> None:
    """Item, mark, time, counts and a strange field are all named, with what is allowed."""
    with pytest.raises(InputError) as error:
        read_event(
            {"act": "mark", "item": "lok", "mark": 7, "at": "noon", "seen": -1, "colour": "red"},
            station=STATION,
        )
    told = str(error.value)
    for words in ("did you mean 'look'?", "write 0 to 0", "is no time", "whole number", "colour"):
        assert words in told
    for tree in (
        sent("mark", item="look", mark=True),
        sent("mark", item="look", mark=1.0),
        sent("mark", item="look", mark="not_done"),
        sent("mark", item="look"),
        sent("grade", grade=9),
        sent("grade", grade=True),
        sent("reopen", reason=" "),
        sent("comment", text="x" * 3000),
        sent("dance"),
    ):
        with pytest.raises(InputError):
            read_event(tree, station=STATION)


_ITEMS, _SEEN = st.sampled_from(["look", "feel", "move"]), st.integers(0, 30)
_MARKS = st.builds(mark, _ITEMS, st.sampled_from([0, 1, 2, None, "not_observed", "not_offered"]), seen=_SEEN)
_ANY = st.one_of(
    _MARKS,
    st.builds(sent, st.just("grade"), grade=st.sampled_from([0, 4, None]), seen=_SEEN),
    st.builds(sent, st.just("comment"), text=st.sampled_from(["", "a", "b"]), seen=_SEEN),
    st.builds(sent, st.just("finish"), seen=_SEEN),
    st.builds(sent, st.just("reopen"), reason=st.just("why"), seen=_SEEN),
)


@given(st.lists(st.tuples(st.sampled_from("abc"), _ANY), max_size=25))
def test_no_word_is_replaced_by_who_did_not_know_it(told: list[tuple[str, dict[str, Any]]]) -> None:
    """Each word on an item stands, stands beside another in dispute, or was replaced by who knew it."""
    folding, taken = Folding(), []
    for entry in entries(*told):
        if folding.takes(entry.event, entry.device):
            folding.add(entry)
            taken.append(entry)
    made = folding.sheet()
    assert fold(taken) == made
    for entry in taken:
        if entry.event.act is not Act.MARK:
            continue
        after = [each for each in taken if each.number > entry.number and each.event.item == entry.event.item]
        marks = [each for each in after if each.event.act is Act.MARK]
        replaced = any(each.device == entry.device or each.event.seen >= entry.number for each in marks)
        choices = [one.key for each in made.disputes if each.item == entry.event.item for one in each.choices]
        stands = made.marks.get(entry.event.item) == entry.event.value
        assert replaced or stands or entry.key in choices


@given(_ANY)
def test_an_event_is_written_as_it_was_read(tree: dict[str, Any]) -> None:
    """Reading what was written gives the same event, and writing that the same tree."""
    event = read_event(tree, station=STATION)
    assert read_event(event_tree(event), station=STATION) == event
    assert event_tree(read_event(event_tree(event), station=STATION)) == event_tree(event)
    assert replace(event, seen=0).act is event.act
