import json
import re
import secrets
from datetime import UTC, datetime, timedelta
from html import unescape
from itertools import count, pairwise
from typing import Any

import pytest
from django.test import Client

from fabella.anatomy import load_lesions
from fabella.evidence.knowledge import load_knowledge
from fabella.protocol import load_protocol
from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.store.accounts.models import Account
from fabella.store.school.models import PracticeRun
from fabella.store.school.practising import begin_run, run_of
from fabella.teach import Recipe, Terms, draw_patient, write_recipe
from fabella.web.visitor import local_clinician
from tests.web.walking import OPEN_RUN

PHRASE = "seven grey herons wade"
SEED = 271828182
CHOSEN = {"curriculum": "ligaments", "setting": "emergency", "minutes": "10", "told": ""}
COURTESIES = ("greeting", "hand_hygiene", "identity", "consent", "pain_first", "exposure")
_ids = (f"made-for-the-test-{number}" for number in count())


def begin(client: Client, **others: str) -> str:
    """Choose a patient, and return the address of the run."""
    answer = client.post("/practice/", CHOSEN | others)
    assert answer.status_code == 302
    return str(answer.headers["Location"])


def test_a_patient_called_in_twice_is_one_until_something_is_done(client: Client) -> None:
    """A button pressed twice leads to the same run; another choice, or a run already played, to another."""
    first = begin(client)
    assert begin(client) == first
    assert begin(client, minutes="5") != first
    again = begin(client)
    press(client, again, {"act": "do", "sign": "greeting"})
    assert begin(client) not in {first, again}


@pytest.mark.usefixtures("client")
def test_the_same_choice_a_while_later_is_another_patient() -> None:
    """Who comes back, having done nothing with the last patient, is given a new one."""
    learner, recipe, terms = local_clinician("desk"), Recipe(seed=1, curriculum="first"), Terms(minutes=8)
    now = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
    runs = [begin_run(learner, recipe, terms, now=now + timedelta(seconds=wait)) for wait in (0, 9, 11)]
    assert (runs[0] == runs[1], runs[1] == runs[2]) == (True, False)


def send(client: Client, run: str, *events: dict[str, Any], **on_screen: Any) -> Any:
    """Post events as the scripts do, who say what is on the screen."""
    query = "&".join(f"{name}={value}" for name, value in on_screen.items())
    body = json.dumps({"events": [{"id": next(_ids), **each} for each in events]})
    path = f"/api/practice/{run.split('/')[3]}/events?{query}"
    return client.post(path, body, content_type="application/json")


def pressed(client: Client, run: str, event: dict[str, Any], **on_screen: Any) -> str:
    """Press a button as the scripts do, and return how the run stands."""
    return str(send(client, run, event, **on_screen).json()["now"])


def press(client: Client, run: str, event: dict[str, Any], **typed: Any) -> Any:
    """Press a button without scripts."""
    return client.post(run, {"id": next(_ids), "event": json.dumps(event), **typed})


def drawn(client: Client, run: str, page: Any, asked: set[str] | None = None) -> list[Any]:
    """Everything else that can be drawn from a page, and every motion, unless it was asked for before."""
    known = set() if asked is None else asked

    def found(what: str, *pages: Any) -> list[str]:
        text = "".join(unescape(each.content.decode()) for each in pages)
        fresh = sorted(set(re.findall(what, text)) - known)
        known.update(fresh)
        return fresh

    pages = [client.get(f"{run}now/?show={show}") for show in found(r'data-show="(\w+)"', page)]
    return [*pages, *(client.get(each) for each in found(r'data-motion="([^"]+)"', page, *pages))]


def everything() -> list[dict[str, Any]]:
    """Every event there is to do: the courtesies, then each sign on each side it has."""
    events = [{"act": "do", "sign": sign} for sign in COURTESIES] + [{"act": "watch_face"}]
    for sign in load_protocol().signs:
        if sign.seconds and sign.id not in COURTESIES:
            sides = [None] if sign.is_person or sign.is_history else ["left", "right"]
            events += [{"act": "do", "sign": sign.id, **({"side": side} if side else {})} for side in sides]
    return events


def test_where_the_patient_is_at_ease_no_position_is_taken_up(client: Client) -> None:
    """Preparation and history are no positions; every other part offers to take its own up."""
    page = client.get(begin(client)).content.decode()
    offered = re.findall(r'aria-label="Take up the position: ([^"]+)"', page)
    assert offered == [each.name for each in load_protocol().positions if each.number >= 2]


@pytest.mark.parametrize("told", ["", "yes"])
def test_nothing_sent_before_the_debrief_tells_what_is_hidden(
    client: Client, monkeypatch: pytest.MonkeyPatch, told: str
) -> None:
    """In a run that does and draws everything no byte or header that is sent holds a lesion or the seed."""
    monkeypatch.setattr(secrets, "randbelow", lambda _: SEED)
    hidden = draw_patient(Recipe(seed=SEED, curriculum="hard"))
    own = {lesion for knee in hidden.knees.values() for lesion, _ in knee.lesions}
    assert len(own) >= 2
    run = begin(client, curriculum="hard", setting="specialist_clinic", minutes="", told=told)
    assert PracticeRun.objects.get().recipe == write_recipe(Recipe(seed=SEED, curriculum="hard"))
    sent = [client.get("/practice/"), client.get(run)]
    events, fresh = everything(), set[str]()
    for at in range(0, len(events), 10):
        sent.append(send(client, run, *events[at : at + 10], shown=at))
        assert {each["outcome"] for each in sent[-1].json()["results"]} == {"saved"}
        sent.append(client.get(f"{run}now/"))
        sent += drawn(client, run, sent[-1], fresh)
    assert told or len([each for each in sent if b'"frames"' in each.content]) > len(("test", "walk"))
    sent += [
        press(client, run, {"act": "do", "sign": "lachman", "side": "left"}),
        client.get(f"{run}debrief/"),
    ]
    sent += [client.get(f"{run}now/"), client.get(run), client.get("/practice/")]
    assert sent[-4].headers["Location"] == run
    everywhere = [unescape(each.content.decode() + str(each.headers)) for each in sent]
    choices = {each for text in everywhere for each in re.findall(r"<option.*?</select>", text, re.DOTALL)}
    assert len(choices) == 1, "the lesions to choose from are the same whoever the patient is"
    of_prostheses = load_knowledge().of_prostheses
    assert all(
        (f'value="{lesion}"' in next(iter(choices))) is (lesion not in of_prostheses)
        for lesion in load_lesions()
    )
    text = "".join(re.sub(r"<option.*?</select>", "", each, flags=re.DOTALL) for each in everywhere)
    assert str(SEED) not in text
    assert "recipe" not in text
    assert not re.search(r"\bseed\b", text), "a token may have these letters within"
    words = set(re.findall(r"\w+", text))
    assert not words & set(load_lesions())
    names = [load_lesions()[lesion].name.split(" (")[0] for lesion in own]
    assert not [name for name in names if name in text]
    send(client, run, {"act": "finish"})
    debrief = unescape(client.get(f"{run}debrief/").content.decode())
    assert all(name in debrief for name in names), "what was looked for is what the debrief tells"


def test_a_lesion_named_twice_is_refused(client: Client) -> None:
    """With scripts and without, a differential that names a lesion twice is told so and not kept."""
    run = begin(client)
    refused = press(client, run, {"act": "believe"}, lesion=["acl_tear", "acl_tear"], chance=["60", "30"])
    assert refused.status_code == 400
    told = "anterior cruciate ligament tear' is named twice; say once how sure you are of it"
    assert told in unescape(refused.content.decode())
    beliefs = [["acl_tear", 0.6], ["acl_tear", 0.3]]
    (result,) = send(client, run, {"act": "believe", "beliefs": beliefs}).json()["results"]
    assert (result["outcome"], result["problems"][0]["says"]) == ("refused", "is named twice")
    assert not run_of(local_clinician("any"), 1).events


def test_a_run_is_played_without_scripts(client: Client) -> None:
    """Buttons alone examine, record, believe, complete and finish; then the debrief tells the patient."""
    run = begin(client)
    for sign in COURTESIES:
        assert press(client, run, {"act": "do", "sign": sign}).status_code == 302
    press(client, run, {"act": "do", "sign": "passive_flexion", "side": "right"})
    page = unescape(client.get(run).content.decode())
    assert re.search(r"Right passive flexion: about \d+", page)
    press(client, run, {"act": "record", "sign": "passive_flexion", "side": "right"}, value="130")
    press(client, run, {"act": "believe"}, lesion=["acl_tear", "", "pcl_tear"], chance=["60", "50", "5"])
    press(client, run, {"act": "complete"}, would="radiographs; the hip\nthe pulses")
    page = client.get(run).content.decode()
    assert "Noted: Passive flexion, right, 130" in page
    assert "anterior cruciate ligament tear 60%" in page
    assert "radiographs; the hip; the pulses" in page
    assert press(client, run, {"act": "finish"}).headers["Location"] == f"{run}debrief/"
    debrief = client.get(f"{run}debrief/").content.decode()
    for told in ("One thing to practise next", "Step by step", "ideal examiner", "Brier score"):
        assert told in debrief
    assert "you said 60%" in debrief
    kept = run_of(local_clinician("any"), 1)
    for knee in draw_patient(kept.recipe).knees.values():
        for lesion, _ in knee.lesions:
            assert load_lesions()[lesion].name in unescape(debrief)
    assert "This run is over" in client.get(run).content.decode()
    lesson = re.search(r"practise next</h2><p>(.*?)</p>", debrief)
    assert lesson is not None
    assert lesson[1] in client.get("/practice/").content.decode()


def test_the_path_of_an_ideal_examiner_says_what_moves(client: Client) -> None:
    """No step repeats the chances of the step before it, and a long path is folded after its twelfth step."""
    run = begin(client)
    send(client, run, {"act": "watch_face", "thought_s": 280})
    press(client, run, {"act": "finish"})
    debrief = client.get(f"{run}debrief/").content.decode()
    path = debrief.partition("The path of an ideal examiner")[2].partition("Everything you did")[0]
    for part in path.split("<details>")[:-1]:  # the last is only the head of what follows
        steps = re.findall(r"<li>(.*?)</li>", part, re.DOTALL)
        assert steps
        told = [each[1] for step in steps if (each := re.search(r"<small>(.*?)</small>", step))]
        assert "<small>" in steps[0]
        assert all(before != after for before, after in pairwise(told))
    assert path.partition("<details>")[0].count("<li>") == 12
    assert "more steps</summary>" in path


@pytest.mark.parametrize(
    ("event", "says"),
    [("", "is missing"), ("[]", "is missing"), ('{"act": "do", "sign": "lachmann"}', "lachman")],
)
def test_a_form_that_is_wrong_says_why(client: Client, event: str, says: str) -> None:
    """What a form sent wrongly is not kept, and the page says what was wrong."""
    run = begin(client)
    answer = client.post(run, {"id": next(_ids), "event": event})
    assert answer.status_code == 400
    assert says in answer.content.decode()
    wrong = press(client, run, {"act": "record", "sign": "passive_flexion", "side": "left"}, value="much")
    assert (wrong.status_code, "is no number" in wrong.content.decode()) == (400, True)
    assert client.post("/practice/", CHOSEN | {"minutes": "7"}).status_code == 400


def test_a_repeat_is_answered_the_same(client: Client) -> None:
    """An event that is posted twice is kept once."""
    run = begin(client)
    body = json.dumps({"events": [{"id": "made-for-the-test-twice", "act": "do", "sign": "greeting"}]})
    answers = [
        client.post("/api/practice/1/events", body, content_type="application/json").json() for _ in range(2)
    ]
    assert answers[0] == answers[1]
    assert "So far (1)" in client.get(run).content.decode()


def test_a_run_is_nobody_elses(demo: Client) -> None:
    """Another account, whatever it is for, finds no run, no debrief and no list of somebody else's."""
    open_account("all", password=PHRASE, roles=list(Role))
    demo.force_login(Account.objects.get(name="all"))
    for address in ("/practice/runs/1/", "/practice/runs/1/now/", "/practice/runs/1/debrief/"):
        assert demo.get(address).status_code == 404
    assert send(demo, f"/practice/runs/{OPEN_RUN}/", {"act": "finish"}).status_code == 404
    assert press(demo, f"/practice/runs/{OPEN_RUN}/", {"act": "finish"}).status_code == 404
    assert "None yet" in demo.get("/practice/").content.decode()


def test_a_run_that_goes_on_has_no_debrief(demo: Client) -> None:
    """Before the end the address of the debrief leads back to the run."""
    answer = demo.get(f"/practice/runs/{OPEN_RUN}/debrief/")
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/practice/runs/{OPEN_RUN}/")


def test_when_the_time_is_up_only_what_was_found_can_be_told(client: Client) -> None:
    """After the minutes of the station nothing more is done with the patient; recording goes on."""
    run = begin(client, minutes="5")
    send(client, run, {"act": "do", "sign": "greeting", "thought_s": 301})
    send(client, run, {"act": "do", "sign": "consent"})
    assert "Consent" in client.get(f"{run}now/").content.decode()
    assert "the time is up" in client.get(f"{run}now/").content.decode()
    late = send(client, run, {"act": "believe", "beliefs": [["acl_tear", 0.5]]})
    assert late.json()["results"][0]["number"] == 3


def test_what_can_be_done_is_the_same_for_every_patient(client: Client) -> None:
    """The list of what can be done has every sign on the sides it has, whatever the patient."""
    page = unescape(client.get(begin(client)).content.decode())
    offered = re.findall(r'value="(\{"act":"do".*?\})"', page)
    assert sorted(map(json.loads, offered), key=str) == sorted(
        ({"act": "do", **each} for each in _every_sign()), key=str
    )


def _every_sign() -> list[dict[str, str]]:
    signs = [sign for sign in load_protocol().signs if sign.seconds]
    return [
        {"sign": sign.id, **({"side": side} if side else {})}
        for sign in signs
        for side in ([""] if sign.is_person or sign.is_history else ["right", "left"])
    ]


def test_a_press_is_answered_with_what_it_brought(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever says what is on the screen gets the rest alone; whoever has nothing gets everything."""
    monkeypatch.setattr(secrets, "randbelow", lambda _: SEED)  # a knee that lets itself be tested
    run = begin(client)
    send(client, run, {"act": "do", "sign": "exposure"}, {"act": "position", "position": "standing"})
    whole = pressed(client, run, {"act": "do", "sign": "lachman", "side": "left"}, shown=0)
    assert whole.count("<li><span") == 3
    assert "data-goes-on" not in whole
    (drawn_key,) = re.findall(r'id="stage" data-key="([^"]+)"', whole)
    event = {"act": "do", "sign": "passive_flexion", "side": "left"}
    part = pressed(client, run, event, shown=3, drawn=drawn_key)
    assert re.findall(r'data-note="([\w-]+)"( data-known)?', part) == [
        ("passive_flexion-left", ""),
        ("lachman-left", " data-known"),
    ]
    assert (part.count("<li><span"), "So far (4)" in part, "data-goes-on" in part) == (1, True, True)
    noted = {"act": "record", "sign": "lachman", "side": "left", "level": "none"}
    level = load_protocol().sign("lachman").scale.levels[0].id
    part = pressed(client, run, noted | {"level": level}, shown=4, drawn=drawn_key)
    assert 'id="stage"' in part, "the flexion is drawn, which is not what was on the screen"
    assert part.count("data-known") == 2
    for none in ("0", "99", "-1", "²", "many", ""):
        assert "data-known" not in client.get(f"{run}now/?shown={none}").content.decode()
    words = pressed(client, run, {"act": "in_words"}, shown=5, drawn=drawn_key)
    assert "data-known" not in words, "everything reads otherwise now"


def test_a_repeated_press_brings_the_same(client: Client) -> None:
    """An answer that was lost on its way comes again, whole, when the same event is sent again."""
    run = begin(client)
    body = json.dumps({"events": [{"id": "made-for-the-test-lost", "act": "do", "sign": "greeting"}]})
    lost, again = (
        client.post("/api/practice/1/events?shown=0", body, content_type="application/json").json()
        for _ in range(2)
    )
    assert lost == again
    assert "So far (1)" in again["now"]
    assert client.get(run).status_code == 200


def test_the_same_drawing_is_not_sent_again(client: Client) -> None:
    """As long as what is drawn stays, its key alone is compared; told runs have no stage to send."""
    run = begin(client)
    send(client, run, {"act": "do", "sign": "exposure"}, {"act": "position", "position": "standing"})
    (key,) = re.findall(r'id="stage" data-key="([^"]+)"', client.get(f"{run}now/").content.decode())
    for drawn_key, there in ((key, False), ("", True), ("front-1", True)):
        page = client.get(f"{run}now/?drawn={drawn_key}").content.decode()
        assert ('id="stage"' in page) is there
    other = client.get(f"{run}now/?drawn={key}&show=back").content.decode()
    assert "from behind" in other
    told = begin(client, told="yes")
    assert 'id="stage"' not in client.get(f"{told}now/").content.decode()
