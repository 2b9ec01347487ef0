"""A timetable places everybody once, and says plainly when it cannot."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest

from fabella.errors import InputError
from fabella.exam import (
    Candidate,
    Day,
    Duty,
    Examiner,
    Round,
    Seat,
    Timetable,
    faults,
    make_timetable,
    read_timetable,
    write_timetable,
)

SECONDS = 3.0


def a_day(seed: int = 1, *, candidates: int = 24, examiners: int = 11, most_rounds: int = 2) -> Day:
    """A day of two circuits with four stations and a rest, and three rounds, the last of them longer."""
    dice = Random(seed)
    names = [f"examiner {each + 1}" for each in range(examiners)]
    return Day(
        stations=("look", "ligaments", "menisci", "patella"),
        circuits=("north", "south"),
        rounds=(
            Round(begins_min=480),
            Round(begins_min=560),
            Round(begins_min=640, extra_share=0.25),
        ),
        examiners=tuple(
            Examiner(id=name, reserve=number > 8, away=frozenset({2} if number == 1 else ()))
            for number, name in enumerate(names)
        ),
        candidates=tuple(
            Candidate(
                id=f"candidate {each + 1}",
                extra_share=0.25 if each % 11 == 0 else 0.0,
                conflicts=frozenset(dice.sample(names, each % 5 == 0)),
            )
            for each in range(candidates)
        ),
        rests=1,
        most_rounds=most_rounds,
    )


@pytest.mark.parametrize("seed", range(4))
def test_everybody_is_placed_and_nothing_broken(seed: int) -> None:
    """Each candidate once, in time, meeting nobody they must not; each station staffed; rests kept."""
    table = make_timetable(a_day(seed), seconds=SECONDS)
    assert faults(table) == ()
    assert len(table.seats) == 24


def test_a_candidate_walks_the_whole_circuit_once() -> None:
    """Everybody comes to every station and the rest in turn, and no place holds two at a time."""
    table = make_timetable(a_day(), seconds=SECONDS)
    stops = tuple(table.stops())
    for candidate in table.day.candidates:
        own = [each for each in stops if each.candidate == candidate.id]
        assert {each.station for each in own} == {*table.day.stations, None}
        assert all(one.ends_min <= two.begins_min for one, two in pairwise(own))
    taken = [(each.circuit, each.station, each.begins_min) for each in stops]
    assert len(taken) == len(set(taken))


def test_extra_time_is_given_at_every_station() -> None:
    """Who has a right to a quarter more has it."""
    table = make_timetable(a_day(), seconds=SECONDS)
    longer = {each.id for each in table.day.candidates if each.extra_share}
    times = {each.ends_min - each.begins_min for each in table.stops() if each.candidate in longer}
    assert times == {10.0}


def test_an_examiner_drops_out_and_little_changes() -> None:
    """Another timetable without them: what has begun stays, no candidate is moved, few examiners are."""
    day = a_day()
    table = make_timetable(day, seconds=SECONDS)
    leaves = next(each.examiner for each in table.duties if each.turn == 1 and each.circuit == "south")
    without = replace(
        day,
        examiners=tuple(
            replace(each, away=each.away | {1, 2}) if each.id == leaves else each for each in day.examiners
        ),
    )
    again = make_timetable(without, kept=table, begun=1, seconds=SECONDS)
    assert faults(again) == ()
    assert [each for each in again.duties if each.turn == 0] == [
        each for each in table.duties if each.turn == 0
    ]
    assert again.seats == table.seats
    lost = sum(each.examiner == leaves and each.turn > 0 for each in table.duties)
    assert len(set(table.duties) - set(again.duties)) <= 2 * lost


@pytest.mark.parametrize("rests", [0, 2])
def test_a_plan_with_other_rests_has_a_place_for_everybody(rests: int) -> None:
    """When rests are dropped or added after the timetable was made, nobody begins at a place that is gone."""
    before = make_timetable(a_day(candidates=4), seconds=SECONDS)
    last_first = replace(before, seats=tuple(replace(each, first=4 - each.first) for each in before.seats))
    assert faults(last_first) == ()
    other = replace(before.day, rests=rests)
    after = make_timetable(other, kept=last_first, seconds=SECONDS)
    assert faults(after) == ()
    assert {each.first for each in after.seats} <= set(range(len(other.places)))
    assert read_timetable(write_timetable(after)) == after


def test_reserves_stay_in_reserve() -> None:
    """With enough others nobody of the reserve examines."""
    day = a_day(candidates=10, examiners=11, most_rounds=3)
    table = make_timetable(replace(day, circuits=("north",)), seconds=SECONDS)
    reserves = {each.id for each in day.examiners if each.reserve}
    assert not {each.examiner for each in table.duties} & reserves


def test_everything_that_cannot_be_is_said_at_once() -> None:
    """Too many candidates, a station without examiner and a candidate without time are named together."""
    day = a_day(candidates=31)
    one_short = replace(
        day,
        rounds=tuple(replace(each, extra_share=0.0) for each in day.rounds),
        examiners=tuple(replace(each, stations=frozenset(day.stations[:3])) for each in day.examiners),
    )
    with pytest.raises(InputError) as refused:
        make_timetable(one_short)
    said = str(refused.value)
    for words in ("are 31, and the day has 30 places", "candidate 1", "station patella"):
        assert words in said


def test_no_way_is_said_and_not_made_up() -> None:
    """When everybody would meet who they must not, the day is refused."""
    day = a_day(candidates=20)
    everyone = frozenset(each.id for each in day.examiners)
    with pytest.raises(InputError, match="no way to place everybody"):
        make_timetable(
            replace(day, candidates=tuple(replace(each, conflicts=everyone) for each in day.candidates)),
            seconds=SECONDS,
        )


def test_a_day_that_contradicts_itself_is_refused() -> None:
    """Doubled names, unknown names and overlapping rounds are all named."""
    day = a_day()
    wrong = replace(
        day,
        stations=("look", "look"),
        rounds=(Round(begins_min=480), Round(begins_min=490)),
        candidates=(Candidate(id="candidate 1", conflicts=frozenset({"examiner 77"})),),
    )
    with pytest.raises(InputError) as refused:
        make_timetable(wrong)
    said = str(refused.value)
    for words in ("stands 2 times", "after the next begins", "examiner 77"):
        assert words in said


def test_the_check_sees_what_is_broken() -> None:
    """A timetable made by hand with two people in one place, and one examiner in two, does not hold."""
    day = replace(a_day(candidates=2), circuits=("north",), rests=0)
    seats = tuple(Seat(turn=2, circuit="north", first=0, candidate=each.id) for each in day.candidates)
    duties = tuple(
        Duty(turn=2, circuit="north", station=each, examiner="examiner 2") for each in day.stations
    )
    found = faults(Timetable(day=day, seats=seats, duties=duties))
    assert any("begin at place 1" in each for each in found)
    assert any("is at 4 stations" in each for each in found)
    assert any("cannot be at" in each for each in found)
