"""Plan and people of an exam as they are typed, read by hand-made examples."""

from dataclasses import replace

import pytest

from fabella.errors import InputError
from fabella.exam import Candidate, Examiner, Seat, Timetable, clock, going_on, make_timetable
from fabella.web.examining.changes import changes_between
from fabella.web.examining.day_plan import USUAL, Plan, read_plan, typed_plan, write_plan
from fabella.web.examining.drafting import day_of
from fabella.web.examining.people import People, read_people, with_away
from fabella.web.examining.placing import rounds_begun, without

PLAN = read_plan({**USUAL, "circuits": "A, North\nB, South", "rounds": "3"})
STATIONS = ("1", "2")


def read(candidates: str, examiners: str = "Edith\nFred\n") -> People:
    """Read people for two stations and two circuits."""
    return read_people(candidates, examiners, stations=STATIONS, plan=PLAN)


def problems_of(candidates: str, examiners: str = "Edith\n") -> list[str]:
    """Everything that is wrong, a line each."""
    with pytest.raises(InputError) as caught:
        read(candidates, examiners)
    return str(caught.value).splitlines()


@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_a_table_says_everything_of_a_candidate(sign: str) -> None:
    """Extra time, conflicts and site are read, whatever parts the columns."""
    text = "candidate,extra time,conflicts,site\nC1,25 %,Edith|Fred,North\nC2,,,\n"
    found = read(text.replace(",", sign)).candidates
    assert found == (
        Candidate(
            id="C1", extra_share=0.25, conflicts=frozenset({"Edith", "Fred"}), circuits=frozenset({"A"})
        ),
        Candidate(id="C2"),
    )


def test_a_table_says_everything_of_an_examiner() -> None:
    """Stations, circuit, reserve and rounds away are read; rounds are counted from 1 on paper."""
    (found,) = read("C1\n", "Examiner,Away,Reserve,Stations,Site\nEdith,1; 3,yes,2,B\n").examiners
    assert found == Examiner(
        id="Edith",
        stations=frozenset({"2"}),
        circuits=frozenset({"B"}),
        away=frozenset({0, 2}),
        reserve=True,
    )


@pytest.mark.parametrize(
    ("typed", "share"), [("25 %", 0.25), ("25", 0.25), ("0.25", 0.25), ("0,25", 0.25), ("100", 1), ("", 0)]
)
def test_extra_time_is_a_share_or_a_per_cent(typed: str, share: float) -> None:
    """Both ways of writing it come to the same."""
    (found,) = read(f'candidate,extra time\nC1,"{typed}"\n').candidates
    assert found.extra_share == pytest.approx(share)


def test_names_alone_need_no_head() -> None:
    """A list of names, a line each, is enough; empty lines do no harm."""
    assert [each.id for each in read("C1\n\n C2 \n").candidates] == ["C1", "C2"]


def test_everything_wrong_is_told_at_once_with_its_line() -> None:
    """Both tables, all lines: place, value, and what would be right."""
    candidates = "candidate,extra time,conflicts,site\nC1,much,Edit,Nord\n,,,\nc1,,,\n,5,,\nC2,,,,,x\n"
    examiners = "examiner,stations,reserve,away\nEdith,3,perhaps,4\n"
    assert problems_of(candidates, examiners) == [
        "candidates, line 4: 'c1' stands on line 2 too; name everybody once",
        "candidates, line 5: has no name; write 1 to 80 letters",
        "candidates, line 6: '6' cells are more than there are columns; there are 4",
        "candidates, line 2, extra time: 'much' is no share; write 0 to 100 %",
        "candidates, line 2, conflicts: 'Edit' is not known; did you mean 'Edith'?",
        "candidates, line 2, site: 'Nord' is no site and no circuit; did you mean 'North'?",
        "examiners, line 2, stations: '3' is not known; allowed: 1, 2",
        "examiners, line 2, away: '4' is no round of the day; write rounds from 1 to 3",
        "examiners, line 2, reserve: 'perhaps' is not understood; write yes, or leave it empty",
    ]


@pytest.mark.parametrize("unfit", ["A/B", "..", '"A; B"', "A|B", "x" * 81])
def test_a_name_that_lists_or_addresses_cannot_hold_is_refused(unfit: str) -> None:
    """Names stand in lists of conflicts and in addresses of pages."""
    assert problems_of(f"candidate,site\n{unfit},\n")[0].startswith("candidates, line 2: ")


def test_a_head_that_is_wrong_is_told() -> None:
    """A column nobody knows is told with the nearest one, a table without a head what to begin with."""
    assert problems_of("candidate,conflict\nC1,\n") == [
        "candidates, line 1: 'conflict' is no column; did you mean 'conflicts'?"
    ]
    assert problems_of("C1,North\n")[0].startswith(
        "candidates, line 1: names no columns; begin with: candidate,"
    )


def test_an_absence_is_written_where_people_are() -> None:
    """One examiner's rounds away change; everything else of the table reads as before."""
    text = 'examiner,stations,reserve\n"Ember, Edith",1; 2,\nFred,,yes\n'
    before, after = (read("C1\n", each).examiners for each in (text, with_away(text, "Fred", [1, 2])))
    assert after == (before[0], replace(before[1], away=frozenset({1, 2})))


def test_a_plan_is_kept_as_it_was_typed() -> None:
    """What was typed comes back into the form, and reads as the same plan."""
    typed = {**USUAL, "pauses": "2: 60", "longer": "3: 25 %", "rounds": "3"}
    kept = typed_plan(write_plan(typed))
    assert kept == typed
    assert read_plan(kept) == read_plan(typed)


def test_rounds_follow_one_another() -> None:
    """Pauses and longer stations move what comes after: worked out by hand for two stations and a rest."""
    plan = read_plan({**USUAL, "rounds": "3", "pauses": "2: 60", "longer": "2: 25%", "first": "8.30"})
    rounds = plan.rounds(3)
    assert [clock(each.begins_min) for each in rounds] == ["08:30", "10:00", "10:51"]  # 30, 36 and 30 minutes
    assert [each.extra_share for each in rounds] == [0, 0.25, 0]


def test_a_plan_that_is_wrong_names_every_field() -> None:
    """Each field that cannot be read is named once."""
    wrong = {**USUAL, "circuits": "A\na", "first": "noon", "rounds": "0", "pauses": "7: long", "rests": ""}
    wrong |= {"longer": "soon", "station_min": "90", "examiners_each": "two"}
    with pytest.raises(InputError) as caught:
        read_plan(wrong)
    assert {each.place for each in caught.value.problems} == set(wrong) - {
        "pause",
        "change_min",
        "most_rounds",
    }


def table(plan: Plan = PLAN, people: People | None = None) -> Timetable:
    """A timetable of six candidates."""
    everybody = people or read("\n".join(f"C{number}" for number in range(1, 7)), "Edith\nFred\nRita\n")
    return make_timetable(day_of(plan, everybody, STATIONS))


def test_changes_tell_who_has_to_be_elsewhere() -> None:
    """Whoever drops out is replaced where they were to be, and nowhere else is anything told."""
    before = table(read_plan({**USUAL, "rounds": "3", "rests": "0"}))
    day = without(before.day, "Edith", 1, 2)
    after = make_timetable(day, kept=before, begun=1)
    changes = changes_between(before, after, {"1": "station 1", "2": "station 2"})
    assert changes.posts
    for where, was, is_now in changes.posts:
        assert where.startswith(("round 2", "round 3"))
        assert (was, is_now) == ("Edith", "Rita") or "Edith" not in is_now
    assert changes.staying == "6 of 6 candidates stay where they were."
    assert changes_between(before, before, {}).is_none


def test_another_order_of_the_stations_moves_everybody_who_walks_it() -> None:
    """Whoever begins where they did and goes on elsewhere is told so; it was said that nobody is elsewhere.

    Once a round has begun the order stays, for it is one of all day, and so do the minutes; later rounds may
    begin at another time.
    """
    plan = read_plan({**USUAL, "rounds": "3", "rests": "0"})
    before = table(plan)
    planned = replace(before.day, stations=before.day.stations[::-1], station_min=20)
    planned = replace(
        planned, rounds=tuple(replace(each, begins_min=each.begins_min + 200) for each in planned.rounds)
    )
    names = {"1": "station 1", "2": "station 2"}
    swapped = changes_between(
        before, replace(before, day=replace(before.day, stations=planned.stations)), names
    )
    assert len(swapped.seats) == 6
    assert swapped.staying == "0 of 6 candidates stay where they were."
    three = replace(before.day, stations=("1", "2", "3"), candidates=before.day.candidates[:1])
    walk = Timetable(day=three, seats=(Seat(turn=0, circuit="A", first=0, candidate="C1"),), duties=())
    other = replace(walk, day=replace(three, stations=("1", "3", "2")))
    ((_, was, is_now),) = changes_between(walk, other, names | {"3": "station 3"}).seats
    assert was.endswith("beginning at station 1, then station 2, then station 3")
    assert is_now.endswith("beginning at station 1, then station 3, then station 2")
    assert going_on(before.day, planned, 0) == planned
    kept = going_on(before.day, planned, 1)
    assert (kept.stations, kept.station_min, kept.rounds[0]) == (
        before.day.stations,
        before.day.station_min,
        before.day.rounds[0],
    )
    assert kept.rounds[1:] == planned.rounds[1:]
    later = changes_between(before, make_timetable(kept, kept=before, begun=1), names)
    begun = {each.candidate for each in before.seats if each.turn == 0}
    assert {name for name, _, _ in later.seats} == {each.candidate for each in before.seats} - begun


def test_the_clock_says_what_has_begun() -> None:
    """Before the day nothing has begun, on it what the clock has passed, after it everything."""
    from datetime import UTC, date, datetime  # noqa: PLC0415  for this test alone

    day, on = table().day, date(2026, 3, 4)
    local = datetime(2026, 3, 4, 9, 40).astimezone()  # 09:00 to 09:20, 09:35 to 09:55, 10:10
    assert rounds_begun(day, on, local.astimezone(UTC)) == 2
    assert rounds_begun(day, on, datetime(2026, 3, 3, 9, 40).astimezone()) == 0
    assert rounds_begun(day, on, datetime(2026, 3, 5, 1, 0).astimezone()) == 3
