"""The living figure on the pages of a run: it shows, and nothing beside it tells."""

import json
import re
import secrets
from dataclasses import replace
from html import unescape

import pytest
from django.test import Client

from fabella.anatomy import Side
from fabella.figure import View, motion_tree, walk
from fabella.figure.sheet import TONES
from fabella.protocol import load_protocol
from fabella.teach import (
    VIEWS,
    Act,
    Event,
    Hidden,
    Look,
    Recipe,
    Run,
    Terms,
    begin,
    draw_patient,
    replay,
    still_of,
    walk_of,
)
from fabella.teach.hidden import Outcome
from fabella.teach.looks import look_at
from fabella.teach.moved import MOVED
from fabella.teach.said import said_of
from fabella.web.practice.lines import lines_of
from fabella.web.practice.reading import SEEN_FROM, view_for
from fabella.web.practice.stage import stage_of
from tests.web.test_practice import begin as begin_page
from tests.web.test_practice import drawn as all_drawn
from tests.web.test_practice import press, send

READ_OFF = (
    "passive_flexion",
    "active_flexion",
    "passive_extension",
    "fixed_flexion",
    "extensor_lag",
    "thigh_foot_angle",
)
"""What is drawn and yet told, since a goniometer says it."""

TESTS = tuple(sign for sign in MOVED if sign not in READ_OFF)
LAX = 9
"""Seed of a patient whose knees let themselves be tested."""

BARE = Event(act=Act.DO, sign="exposure")
EXPOSED = [{"act": "do", "sign": "exposure"}]
LABELS = re.compile(
    r"Both (legs|knees) (standing|walking|lying|at a right angle, lying), "
    r"from (the front|behind|above|the (right|left) side)"
    r"|(Right|Left) knee, [\w ,]+"
)
_BEHIND: dict[str, dict[str, float]] = {
    "varus_alignment": {"tibiofemoral_angle": -8},
    "valgus_alignment": {"tibiofemoral_angle": 16},
    "posterior_sag": {"posterior_drawer": 12},
    "foot_progression_angle": {"foot_progression_angle": 28},
}
"""Readings that a sign is drawn by."""


def patient(seed: int) -> Hidden:
    """One patient with hurt ligaments."""
    return draw_patient(Recipe(seed=seed, curriculum="ligaments"))


def with_sign(hidden: Hidden, sign: str, side: Side, *, there: bool) -> Hidden:
    """The same patient with nothing else to be seen on a side, and a sign at its most or without it."""
    levels = max(len(load_protocol().sign(sign).scale.levels) - 1, 1) if there else 0
    outcomes = dict(hidden.outcomes)
    for each in SEEN_FROM:
        outcomes[each, side] = Outcome(level=0, guarded=0, value=outcomes[each, side].value)
    outcomes[sign, side] = Outcome(level=levels, guarded=levels, value=outcomes[sign, side].value)
    for name, value in _BEHIND.get(sign, {}).items() if there else ():
        outcomes[name, side] = replace(outcomes[name, side], value=value)
    return replace(hidden, outcomes=outcomes)


def drawn(look: Look, view: View) -> str:
    """A drawing as text, every key position of a walk."""
    return (
        json.dumps(motion_tree(walk(walk_of(look), view))["parts"])
        if look.position == "walking"
        else still_of(look, view)
    )


@pytest.mark.parametrize("sign", SEEN_FROM)
@pytest.mark.parametrize("side", Side)
def test_what_is_left_to_the_eye_is_drawn(sign: str, side: Side) -> None:
    """A sign that no words tell changes the drawing and its words, from where the page shows it."""
    position = load_protocol().sign(sign).position
    view = view_for(sign, side, position)
    assert view in VIEWS[position]
    without, there = (
        look_at(with_sign(patient(LAX), sign, side, there=each), position) for each in (False, True)
    )
    assert without is not None
    assert there is not None
    assert drawn(without, view) != drawn(there, view)
    assert said_of(without, view) != said_of(there, view)


def everything_drawn(hidden: Hidden, *others: Event) -> Run:
    """A run in which everything that is drawn is done on both sides."""
    events = [Event(act=Act.DO, sign=sign, side=side) for sign in (*SEEN_FROM, *TESTS) for side in Side]
    return replay(hidden, Terms(), [BARE, *others, *events]).run


def words_of(run: Run) -> list[str]:
    """What stands beside the drawings, for each thing that could be done."""
    return [
        line.words
        for line, turn in zip(lines_of(run), run.turns, strict=True)
        if turn.seen.shown is not None and turn.seen.shown.possible
    ]


def test_words_beside_a_drawing_are_the_same_for_every_patient() -> None:
    """Of what is drawn the words say that it is, whoever the patient; a told run says what it was."""
    said = {words for seed in range(1, 7) for words in words_of(everything_drawn(patient(seed)))}
    assert len(said) == 2 * len((*SEEN_FROM, *TESTS))
    assert all(words.endswith((", right: as drawn.", ", left: as drawn.")) for words in said)


@pytest.mark.parametrize("sign", READ_OFF)
def test_a_goniometer_is_read(sign: str) -> None:
    """What a goniometer says is told in degrees, and not what it means."""
    done = [BARE, Event(act=Act.DO, sign=sign, side=Side.LEFT)]
    run = replay(patient(LAX), Terms(), done).run
    assert re.search(r": about .*°", words_of(run)[0])
    assert stage_of(run).moves


def test_whoever_cannot_see_gets_words_instead() -> None:
    """Once words are asked for they tell what moved and was seen, nothing is drawn, and that is noted."""
    run = everything_drawn(patient(LAX), Event(act=Act.IN_WORDS))
    words = words_of(run)
    graded = re.compile(r"as drawn|\b(mild|marked|slight|moderate|clear|gross|yes|no|none|normal)\b")
    assert not [each for each in words if graded.search(each)]
    assert all(each.endswith(".") and len(each.split()) > len(("name", "side")) for each in words)
    assert [each for each in words if re.search(r"tibia slides (forward|back) about \d+ mm", each)]
    stage = stage_of(run)
    assert not stage.drawings
    assert stage.words
    standing, look = Event(act=Act.POSITION, position="standing"), look_at(patient(LAX), "standing")
    assert look is not None
    seen = stage_of(replay(patient(LAX), Terms(), [BARE, standing, Event(act=Act.IN_WORDS)]).run)
    assert seen.words == (said_of(look, View.FRONT),)
    assert "kneecap" in seen.words[0]
    assert run.in_words
    assert not everything_drawn(patient(LAX)).in_words


def test_a_drawing_is_paths_and_nothing_else(client: Client) -> None:
    """Whatever is sent with a drawing, path data apart, is from a short list, the same for all patients."""
    run = begin_page(client, curriculum="hard", minutes="")
    send(client, run, *EXPOSED)
    sent = []
    for position in VIEWS:
        send(client, run, {"act": "position", "position": position})
        page = client.get(run)
        sent += [page, *all_drawn(client, run, page)]
    for test in ("lachman", "valgus_stress_30"):
        for side in ("left", "right"):
            send(client, run, {"act": "do", "sign": test, "side": side})
    page = client.get(run)
    sent += [page, *all_drawn(client, run, page)]
    drawings = [svg for each in sent for svg in re.findall(r"<svg.*?</svg>", each.content.decode())]
    assert len(drawings) > 20
    for svg in drawings:
        left = re.sub(r' (d|viewBox|xmlns|stroke-width|data-part|role|stroke-line\w+)="[^"]*"', "", svg)
        assert set(re.findall(r"<(\w+)", left)) <= {"svg", "g", "path"}
        assert {each.removeprefix("f-") for each in re.findall(r'class="([^"]*)"', left)} <= {
            *TONES,
            "figure",
        }
        assert all(LABELS.fullmatch(each) for each in re.findall(r'aria-label="([^"]*)"', left)), left
        assert not re.sub(r'</?(svg|g|path)|(class|aria-label)="[^"]*"|[\s/>]', "", left)
    motions = [
        json.loads(each.content) for each in sent if each.headers["Content-Type"] == "application/json"
    ]
    assert len(motions) >= len(VIEWS["walking"]) + 2
    for motion in motions:
        assert set(motion) == {
            "title",
            "width",
            "height",
            "duration_ms",
            "ease",
            "loops",
            "keys_pct",
            "parts",
        }
        assert LABELS.fullmatch(motion["title"])
        for part in motion["parts"]:
            assert set(part) == {"tone", "weight", "frames"}
            assert part["tone"] in TONES
            assert all(re.fullmatch(r"[MmLlHhVvCcSsZz\d .-]+", frame) for frame in part["frames"])


def test_a_test_of_both_knees_is_drawn_side_by_side() -> None:
    """The right knee stands on the left; a knee on which nothing was done has no place."""
    done = [BARE, Event(act=Act.DO, sign="lachman", side=Side.LEFT)]
    one = stage_of(replay(patient(LAX), Terms(), done).run)
    assert [each.caption for each in one.drawings] == ["Left knee"]
    done.append(Event(act=Act.DO, sign="lachman", side=Side.RIGHT))
    both = stage_of(replay(patient(LAX), Terms(), done).run)
    assert [each.caption for each in both.drawings] == ["Right knee", "Left knee"]
    assert [still.caption for each in both.drawings for still in each.stills] == ["before", "at the end"] * 2


def test_legs_are_drawn_where_they_are_and_once_they_are_bare() -> None:
    """Nothing is drawn of covered legs, of a position that was left, and where findings are told."""
    standing = Event(act=Act.POSITION, position="standing")
    assert not stage_of(begin(patient(LAX), Terms()).run).key
    assert not stage_of(replay(patient(LAX), Terms(), [standing]).run).key
    bared = replay(patient(LAX), Terms(), [standing, BARE]).run
    assert [each.name for each in stage_of(bared).tabs] == ["Front", "Right side", "Back", "Left side"]
    assert stage_of(bared, "back").title == "Standing, from behind"
    left = replay(
        patient(LAX), Terms(), [standing, BARE, Event(act=Act.POSITION, position="vessels_nerves")]
    ).run
    assert not stage_of(left, "back").key
    assert not stage_of(replay(patient(LAX), Terms(told=True), [standing, BARE]).run).key


def test_a_walk_is_a_strip_of_stills_without_scripts(client: Client) -> None:
    """The page shows the stride in eight key positions; a script asks for the motion itself."""
    run = begin_page(client)
    send(client, run, *EXPOSED, {"act": "position", "position": "walking"})
    assert client.get(run).content.decode().count("<svg") == 8
    assert client.get(f"{run}now/").content.decode().count("<svg") == 0
    assert client.get(f"{run}?show=left").content.decode().count("left side") > 8


def test_no_motion_is_sent_that_was_not_seen(client: Client) -> None:
    """Of what was not done, of covered legs, and where findings are told nothing that moves is sent."""
    run = begin_page(client)
    number = run.split("/")[3]
    send(client, run, {"act": "position", "position": "walking"}, *EXPOSED)
    motions = f"/api/practice/{number}/motions"
    for address in ("1/front", "1/test", "0/front", "3/front", "2/above", "2/words"):
        assert client.get(f"{motions}/{address}").status_code == 404, address
    assert client.get(f"{motions}/2/front").status_code == 200
    send(client, run, {"act": "finish"})
    assert client.get(f"{motions}/0/front").status_code == 200
    told = begin_page(client, told="yes")
    send(client, told, *EXPOSED, {"act": "do", "sign": "lachman", "side": "left"})
    assert client.get(f"/api/practice/{told.split('/')[3]}/motions/2/test").status_code == 404


def test_the_debrief_draws_again_what_was_misread(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """A misread test is there again with its grade, and both knees are drawn as they truly were."""
    monkeypatch.setattr(secrets, "randbelow", lambda _: LAX)
    run = begin_page(client, setting="specialist_clinic", minutes="")
    done = [{"act": "do", "sign": "lachman", "side": side} for side in ("left", "right")]
    noted = [{"act": "record", "sign": "lachman", "side": side, "level": "3+"} for side in ("left", "right")]
    send(client, run, *EXPOSED, *done, *noted)
    press(client, run, {"act": "in_words"})
    page = client.get(run).content.decode()
    assert "as you asked" in page
    assert "<svg" not in page.split('id="stage"')[1].split("</section>")[0]
    send(client, run, {"act": "finish"})
    debrief = unescape(client.get(f"{run}debrief/").content.decode())
    again = debrief.split("Recorded otherwise than it was")[1].split("How both knees truly were")[0]
    assert re.search(r"Lachman test, (right|left): showed .*, recorded as gross", again)
    assert len(re.findall(r"The (right|left) tibia slides forward about \d+ mm", again)) >= 1
    assert again.count('data-motion="') == len(done)
    assert again.count("<svg") == 2 * len(done)
    truth = debrief.split("How both knees truly were")[1]
    assert '/motions/0/front"' in truth
    assert "Drawings were told in words in this run" in debrief
