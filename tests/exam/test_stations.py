"""Stations come from the protocol, fit their time or say so, and survive being written and read."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.exam import (
    Station,
    edited,
    kinds_of,
    load_domains,
    load_templates,
    load_topics,
    names_what_is_unasked,
    propose_station,
    read_station,
    station_seconds,
    with_items,
    write_station,
)
from fabella.protocol import load_protocol

PROTOCOL = load_protocol()
TOPICS = tuple(load_topics())


def proposed(topic: str = "ligaments", minutes: float = 8, *, painful: bool = False) -> Station:
    """A station as it is proposed."""
    made = propose_station(PROTOCOL, topic=topic, minutes=minutes, station_id="three", painful=painful)
    return made.station


@pytest.mark.parametrize("topic", TOPICS)
def test_a_proposal_holds_what_its_topic_needs(topic: str) -> None:
    """Every station asks for courtesy, safety, findings and judgement, and has something of its own."""
    items = proposed(topic).items
    assert {each.domain for each in items} == set(load_domains())
    every = {each.item.id for each in load_templates(PROTOCOL) if "every" in each.topics}
    assert len([each for each in items if each.id not in every]) >= 2
    assert any(each.critical for each in items)


@pytest.mark.parametrize("topic", TOPICS)
def test_what_hurts_is_left_out_unless_wanted(topic: str) -> None:
    """By default nothing painful is done to a volunteer; the team sees what it is, and may have it."""
    made = propose_station(PROTOCOL, topic=topic, minutes=15, station_id="three")
    signs = [sign for item in made.station.items for sign in item.signs]
    assert all(PROTOCOL.sign(each).hurts < 2 for each in signs)
    hurting = {each.id for each in made.painful}
    with_pain = {each.id for each in proposed(topic, 15, painful=True).items}
    assert with_pain == {each.id for each in made.station.items} | hurting


@pytest.mark.parametrize("painful", [False, True])
@pytest.mark.parametrize("topic", TOPICS)
def test_a_proposal_fits_its_time(topic: str, *, painful: bool) -> None:
    """From five minutes on, by the protocol's seconds; nothing more would fit, and two items of its own stay.

    The whole knee in the eight minutes that are usual had been proposed four minutes too long.
    """
    templates = load_templates(PROTOCOL)
    everywhere = {each.item.id for each in templates if "every" in each.topics}
    for minutes in range(5, 16):
        made = propose_station(PROTOCOL, topic=topic, minutes=minutes, station_id="one", painful=painful)
        assert made.over_s == 0
        assert made.seconds == station_seconds(made.station, PROTOCOL) <= 60 * minutes
        assert len([each for each in made.station.items if each.id not in everywhere]) >= 2
        assert {each.domain for each in made.station.items} == set(load_domains())
        there = [each.item for each in templates if each.item in (*made.station.items, *made.hurried)]
        for extra in made.hurried:
            more = tuple(each for each in there if each in made.station.items or each == extra)
            assert station_seconds(replace(made.station, items=more), PROTOCOL) > 60 * minutes


def test_what_yields_to_the_time_is_named_and_answers_no_question() -> None:
    """In eight minutes the whole knee keeps look, fluid, movement and ligaments; in fifteen it has it all."""
    usual = propose_station(PROTOCOL, topic="whole_knee", minutes=8, station_id="one")
    kept = {each.id for each in usual.station.items}
    assert kept >= {"looks_standing", "tests_fluid", "extends", "flexes", "lachman", "collaterals"}
    assert {each.id for each in usual.hurried} >= {"joints_around", "pulses_and_nerves"}
    assert "hips" not in usual.station.volunteer.partition("; you need not")[0]
    long = propose_station(PROTOCOL, topic="whole_knee", minutes=15, station_id="one")
    assert long.hurried == ()
    assert {each.id for each in long.station.items} == kept | {each.id for each in usual.hurried}


def test_it_warns_when_no_choice_fits() -> None:
    """Two minutes are too few for greeting, safety and telling alone; the seconds are the protocol's."""
    short = propose_station(PROTOCOL, topic="whole_knee", minutes=2, station_id="one")
    assert short.over_s == short.seconds - 120 > 0
    lachman = replace(proposed(), items=(proposed().item("lachman"),))
    assert station_seconds(lachman, PROTOCOL) == PROTOCOL.seconds(["lachman", "lachman_end_point"])


def test_what_yields_is_of_its_topic() -> None:
    """Each name is of an item that the topic can have, once."""
    for topic in load_topics().values():
        meant = {each.item.id for each in load_templates(PROTOCOL) if each.meant_for(topic.id)}
        assert set(topic.yields) <= meant
        assert len(set(topic.yields)) == len(topic.yields)


def test_every_item_stands_on_the_protocol() -> None:
    """No item exists twice, and in no station is a sign asked for by two items."""
    templates = load_templates(PROTOCOL)
    assert len({each.item.id for each in templates}) == len(templates)
    for topic in TOPICS:
        signs = [sign for each in templates if each.meant_for(topic) for sign in each.item.signs]
        assert len(signs) == len(set(signs)), topic


def test_the_papers_name_what_is_needed() -> None:
    """Who is examined is told what they will be asked; a tape is there only where something is measured."""
    look = proposed("look_and_gait")
    assert "walk a few steps" in look.volunteer
    assert "tape measure" in look.equipment
    assert "tape measure" not in proposed("ligaments").equipment


def test_the_papers_follow_the_items_unless_put_otherwise() -> None:
    """With girth left out no tape has to be there; a briefing in the team's own words stays."""
    look = proposed("look_and_gait")
    fewer = tuple(each for each in look.items if each.id not in {"measures_girth", "measures_alignment"})
    assert "tape measure" not in with_items(look, fewer, PROTOCOL).equipment
    assert "measuring the thighs" not in look.task
    assert (
        "earns no mark: measuring the alignment; measuring the thighs."
        in with_items(look, fewer, PROTOCOL).task
    )
    own = replace(look, task="Look.", volunteer="Stand and walk.", equipment=("a chair",))
    assert with_items(own, fewer, PROTOCOL) == replace(own, items=fewer)
    walking = tuple(each for each in look.items if each.id == "watches_walk")
    assert "walk a few steps" in with_items(look, walking, PROTOCOL).volunteer
    assert "you need not stand or lie on the couch." in with_items(look, walking, PROTOCOL).volunteer


@pytest.mark.parametrize("topic", TOPICS)
def test_the_candidate_is_told_what_the_sheet_does_not_ask(topic: str) -> None:
    """Whatever of the topic is not on the sheet, for time or for pain, stands on the door, and nothing else.

    A shortened station had the instruction of the whole one: whoever did what it left out lost time.
    """
    for minutes in (5, 8, 15):
        made = propose_station(PROTOCOL, topic=topic, minutes=minutes, station_id="one")
        names = {each.item: each.called for each in load_templates(PROTOCOL) if each.called}
        gone = [each for each in (*made.painful, *made.hurried) if each in names]
        told = made.station.task.partition("earns no mark: ")[2].removesuffix(".").split("; ")
        assert sorted(filter(None, told)) == sorted(names[each] for each in gone)
        assert names_what_is_unasked(made.station.task) == bool(gone)


def test_whatever_belongs_to_some_topics_only_can_be_named_to_a_candidate() -> None:
    """Each item of some topics has its own name; those of every station are never told to be left out."""
    templates = load_templates(PROTOCOL)
    names = [each.called for each in templates if "every" not in each.topics]
    assert all(names)
    assert len(set(names)) == len(names)
    assert not any(each.called for each in templates if "every" in each.topics)


def test_what_to_say_at_the_end_is_what_is_marked() -> None:
    """The next step is asked for where it is on the sheet; without what was found nothing is asked of it."""
    whole = proposed("ligaments", 8)
    assert "what you found, what you make of it and what you would do next." in whole.task
    fewer = tuple(each for each in whole.items if each.id not in {"next_step", "concludes"})
    assert "At the end say what you found." in with_items(whole, fewer, PROTOCOL).task
    silent = tuple(each for each in fewer if each.id != "tells_findings")
    assert "At the end" not in with_items(whole, silent, PROTOCOL).task


def test_the_volunteer_is_told_what_is_spared() -> None:
    """In eight minutes of the whole knee nobody walks or has their feet felt, and the briefing says so."""
    briefing = proposed("whole_knee", 8).volunteer
    assert "you need not walk a few steps" in briefing
    assert briefing.endswith("or let your feet be felt.")
    assert "need not" not in proposed("whole_knee", 15, painful=True).volunteer


@given(
    topic=st.sampled_from(TOPICS),
    minutes=st.integers(2, 60),
    weight=st.floats(0.1, 10),
    painful=st.booleans(),
)
def test_written_and_read_it_is_the_same(topic: str, minutes: int, weight: float, painful: bool) -> None:
    """A station survives its file exactly."""
    station = proposed(topic, minutes, painful=painful)
    station = edited(station, {"items": tuple(replace(each, weight=weight) for each in station.items)})
    assert read_station(write_station(station), protocol=PROTOCOL) == station


def broken(**changes: Any) -> str:
    """The text of a station with some keys changed."""
    return json.dumps({**json.loads(write_station(proposed())), **changes})


def test_everything_wrong_is_said_at_once() -> None:
    """Topic, sign, anchors, doubled item, grades and an unknown key are named, with the nearest name."""
    items = json.loads(write_station(proposed()))["items"]
    items[0] = {**items[0], "signs": ["lachmann"], "anchors": ["one"]}
    items[1] = {**items[1], "id": items[2]["id"], "weight": -1}
    text = broken(items=items, topic="ligamentz", colour="red", borderline=4, minutes=99)
    with pytest.raises(InputError) as refused:
        read_station(text, protocol=PROTOCOL)
    said = str(refused.value)
    for words in (
        "did you mean 'ligaments'?",
        "did you mean lachman",
        "is no number of anchors",
        "stands there twice",
        "is no weight",
        "is no grade below the highest",
        "is no length of a station",
        "is no known field",
    ):
        assert words in said


def test_a_kept_station_is_read_whatever_this_program_knows() -> None:
    """Signs, topic and kinds of items of another program are taken as they are; what is wrong is said."""
    station = proposed()
    items = json.loads(write_station(station))["items"]
    items[0] |= {"signs": ["of_another_day"], "domain": "kind_of_another_day"}
    text = broken(items=items, topic="topic_of_another_day")
    with pytest.raises(InputError, match="of_another_day"):
        read_station(text, protocol=PROTOCOL)
    kept = read_station(text, protocol=None)
    assert (kept.topic, kept.items[0].signs) == ("topic_of_another_day", ("of_another_day",))
    assert kept.items[1:] == station.items[1:]
    assert json.loads(write_station(kept)) == json.loads(text)
    assert [each.id for each in kinds_of(kept.items)][-1] == "kind_of_another_day"
    assert kept.items[0].seconds <= station_seconds(kept, PROTOCOL)
    assert with_items(kept, kept.items[::-1], PROTOCOL).task == kept.task
    with pytest.raises(InputError, match="is no weight"):
        read_station(broken(items=[{**items[0], "weight": -1}]), protocol=None)


@pytest.mark.parametrize("text", ["", "[]", "{", '{"format": 1}', "null"])
def test_what_is_no_station_is_refused(text: str) -> None:
    """A truncated file or another thing is refused in words."""
    with pytest.raises(InputError):
        read_station(text, protocol=PROTOCOL)


def test_a_topic_or_length_that_is_none_is_refused() -> None:
    """Both are named, with what is allowed."""
    with pytest.raises(InputError) as refused:
        propose_station(PROTOCOL, topic="patela", minutes=1, station_id="x")
    assert "did you mean 'patella'?" in str(refused.value)
    assert "2 to 60 minutes" in str(refused.value)
