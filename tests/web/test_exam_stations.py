"""The lead writes stations: proposed, altered, put on one scale, and frozen with the exam."""

import re
from html import unescape
from typing import Any

import pytest
from django.test import Client

from fabella.exam import GRADES, Station, propose_station
from fabella.protocol import load_protocol
from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.store.accounts.models import Account
from fabella.store.exams.papers import station_of, versions_of
from fabella.web.examining.station_work import moved, spare_items, times_of, untold
from fabella.web.visitor import local_clinician

LEAD = local_clinician("any")
PHRASE = "seven grey herons wade"
HERE = "/exams/1/stations/"


def text(answer: Any) -> str:
    """The page as it is read."""
    return unescape(answer.content.decode())


@pytest.fixture
def exam(client: Client) -> Client:
    """A browser of a lead with an exam of one station."""
    assert client.post("/exams/", {"name": "Year 4", "day": "2027-03-04"}).headers["Location"] == "/exams/1/"
    propose(client, topic="ligaments")
    return client


def propose(client: Client, **typed: str) -> Any:
    """Ask for a station."""
    return client.post(
        HERE, {"step": "propose", "topic": "whole_knee", "minutes": "8", "painful": "", **typed}
    )


def station(name: str = "1") -> Station:
    """A station as it holds."""
    return station_of(1, name)


def form(page: str) -> dict[str, str]:
    """What the form of a station holds, as a browser would send it."""
    part = page.partition('class="station-form"')[2].partition("</form>")[0]
    found = dict(re.findall(r'<textarea id="([^"]+)".*?>(.*?)</textarea>', part, re.DOTALL))
    for tag in re.findall(r"<input [^>]*>", part):
        named = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        if named.get("type") != "checkbox" or " checked" in tag:
            found[named["name"]] = named.get("value", "")
    return {name: value for name, value in found.items() if name != "csrfmiddlewaretoken"}


def save(client: Client, name: str = "1", **typed: str) -> Any:
    """Send the form of a station as it stands, with a few changes."""
    address = f"{HERE}{name}/"
    return client.post(address, form(text(client.get(address))) | typed)


def test_an_exam_is_made_once(client: Client) -> None:
    """Name and day are asked for together, and a second of the same name and day is refused."""
    wrong = client.post("/exams/", {"name": " ", "day": "soon"})
    assert (wrong.status_code, text(wrong).count('class="says"')) == (400, 2)
    assert client.post("/exams/", {"name": "Year 4", "day": "2027-03-04"}).status_code == 302
    assert client.post("/exams/", {"name": "year 4", "day": "2027-03-04"}).status_code == 400
    assert "Year 4" in text(client.get("/exams/"))


def test_a_station_is_proposed_from_the_protocol(exam: Client) -> None:
    """Items are those of the proposal, with their seconds; what hurts is left out and can be added."""
    page = text(exam.get(f"{HERE}1/"))
    made = propose_station(load_protocol(), topic="ligaments", minutes=8, station_id="1")
    assert [each.id for each in station().items] == [each.id for each in made.station.items]
    for item in made.station.items:
        assert f"{item.seconds} s" in page or not item.seconds
    hurting = page.partition("Left out because it hurts")[2].partition("</ul>")[0]
    assert re.findall(r'value="add:(\w+)"', hurting) == [each.id for each in made.painful] != []


def test_one_touch_adds_what_hurts(exam: Client) -> None:
    """It comes in the order of an examination, as another version."""
    save(exam, move="add:pivot_shift")
    added = propose_station(
        load_protocol(), topic="ligaments", minutes=8, station_id="1", painful=True
    ).station
    order = [each.id for each in added.items]
    found = [each.id for each in station().items]
    assert "pivot_shift" in found
    assert found == [each for each in order if each in found]
    assert station().version == 2


def test_more_items_than_time_is_warned_of(exam: Client) -> None:
    """What is proposed fits; what is added is held against the seconds of the station."""
    propose(exam)
    page = text(exam.get(f"{HERE}2/"))
    assert "Done one after the other the items take about 8 min of 8 min" in page
    left = page.partition("<h3>Left out</h3>")[2].partition("</ul>")[0]
    assert "add:watches_walk" in left
    assert "with more items than time" not in text(exam.get("/exams/1/"))
    save(exam, "2", move="add:watches_walk")
    page = text(exam.get(f"{HERE}2/"))
    assert "cannot be done in the time: they take about 8 min 39 s, and the station lasts 8 min" in page
    assert "with more items than time" in text(exam.get("/exams/1/"))
    save(exam, "2", minutes="13")
    assert "cannot be done" not in text(exam.get(f"{HERE}2/"))
    assert times_of(station("2")).over_s == 0


@pytest.mark.parametrize(("typed", "says"), [({"minutes": "1"}, "2 to 60"), ({"topic": "elbow"}, "is none")])
def test_a_proposal_that_cannot_be_made_says_why(exam: Client, typed: dict[str, str], says: str) -> None:
    """No station is kept."""
    answer = propose(exam, **typed)
    assert (answer.status_code, says in text(answer).replace("Is none", "is none")) == (400, True)
    assert len(re.findall(r'href="/exams/1/stations/\d+/"', text(exam.get(HERE)))) == 1


def test_everything_of_a_station_can_be_edited(exam: Client) -> None:
    """Words, anchors, weight, safety, instruction, briefing and equipment, in one save."""
    changes = {
        "title": "Ligaments of both knees",
        "minutes": "7.5",
        "task": "Examine.",
        "volunteer": "Lie down.",
        "equipment": "couch\n\n pillow ",
        "words-greets": "Greets",
        "anchors-greets": "no\nyes",
        "weight-greets": "2,5",
        "critical-greets": "yes",
        "why": "shorter words",
    }
    assert save(exam, **changes).status_code == 302
    found, item = station(), station().item("greets")
    assert (found.title, found.minutes, found.task, found.volunteer) == (
        "Ligaments of both knees",
        7.5,
        "Examine.",
        "Lie down.",
    )
    assert found.equipment == ("couch", "pillow")
    assert (item.words, item.anchors, item.weight, item.critical) == ("Greets", ("no", "yes"), 2.5, True)
    assert [each.why for each in versions_of(LEAD, 1, "station:1")] == ["", "shorter words"]


def test_instruction_and_briefing_left_empty_follow_from_the_items(exam: Client) -> None:
    """Emptying a field brings the program's words back; a team's own words are read against the sheet."""
    before = station()
    save(exam, move=f"out:{before.items[7].id}", task="Examine.", volunteer="Lie down.")
    left_out = untold(station())
    assert left_out
    assert f"not named to the candidate: {left_out}." in text(exam.get(f"{HERE}1/"))
    save(exam, task="", volunteer=" ")
    now = station()
    assert left_out in now.task
    assert now.volunteer != "Lie down."
    assert untold(now) == ""
    assert "not named to the candidate" not in text(exam.get(f"{HERE}1/"))


def test_a_form_sent_back_unchanged_is_no_version(exam: Client) -> None:
    """What the form holds is the whole station: nothing is lost by saving it."""
    before = station()
    save(exam)
    assert station() == before


def test_items_are_put_in_order_and_left_out(exam: Client) -> None:
    """Buttons move an item and keep what else was typed; the last one stays."""
    ids = [each.id for each in station().items]
    save(exam, move=f"down:{ids[0]}", title="Typed meanwhile")
    assert [each.id for each in station().items][:2] == [ids[1], ids[0]]
    assert station().title == "Typed meanwhile"
    save(exam, move=f"out:{ids[1]}")
    assert ids[1] not in [each.id for each in station().items]
    assert ids[1] in [each.id for each in spare_items(station()).meant]
    assert save(exam, move="sideways:greets").status_code == 400
    one = moved(station(), "out:nothing")
    assert one is None


def test_an_item_of_ones_own_is_added(exam: Client) -> None:
    """It has the anchors of its kind unless others are written."""
    save(exam, **{"words-new": "Warms their hands", "domain-new": "courtesy", "seconds-new": "5"})
    item = station().items[-1]
    assert (item.words, item.domain, item.seconds, item.most) == ("Warms their hands", "courtesy", 5, 2)
    assert save(exam, **{"words-new": "x", "domain-new": "magic", "seconds-new": "long"}).status_code == 400


def test_what_is_wrong_stands_at_its_item(exam: Client) -> None:
    """Every problem is told at once, by the number of its item; nothing is kept, nothing typed is lost."""
    wrong = {
        "weight-greets": "0",
        "anchors-greets": "one",
        "words-asks_pain": "",
        "title": "",
        "task": "kept",
    }
    answer = save(exam, **wrong)
    page = text(answer)
    assert answer.status_code == 400
    for place in ("item 1, weight", "item 1, anchors", "item 3, words", "title"):
        assert f"<li>{place}: " in page
    assert ">kept</textarea>" in page
    assert station().version == 1


def test_two_who_edit_the_same_station_are_told(exam: Client) -> None:
    """The later one sees that there is a newer version, keeps what they typed, and decides."""
    late = form(text(exam.get(f"{HERE}1/"))) | {"title": "Theirs"}
    save(exam, title="Ours")
    answer = exam.post(f"{HERE}1/", late)
    assert (answer.status_code, "is now version 2" in text(answer)) == (409, True)
    assert station().title == "Ours"
    assert exam.post(f"{HERE}1/", form(text(answer))).status_code == 302
    assert (station().title, station().version) == ("Theirs", 3)


def test_every_version_can_be_read_and_taken_up_again(exam: Client) -> None:
    """Old versions stay; one taken up again is a new one with the same words."""
    before = station().title
    save(exam, title="Other")
    old = text(exam.get(f"{HERE}1/versions/1/"))
    assert before in old
    assert "Take this version up again" in old
    exam.post(f"{HERE}1/versions/1/")
    assert (station().title, station().version) == (before, 3)
    assert exam.get(f"{HERE}1/versions/9/").status_code == 404


def test_a_station_taken_away_leaves_its_number(exam: Client) -> None:
    """It is gone from the exam, its versions stay, and a new one counts on."""
    save(exam, move="away")
    assert exam.get(f"{HERE}1/").status_code == 404
    propose(exam)
    assert station().version == 3


def test_stations_are_put_in_order(exam: Client) -> None:
    """The order of the circuit is that of the page."""
    propose(exam, topic="menisci")
    exam.post(HERE, {"move": "up:2"})
    assert re.findall(r">Station (\d)", text(exam.get(HERE))) == ["2", "1"]
    assert exam.post(HERE, {"move": "up:9"}).status_code == 400


def test_the_scale_is_one_for_the_exam(exam: Client) -> None:
    """Every station is put on it, a station proposed later too."""
    propose(exam, topic="menisci")
    scale = {"step": "scale", "grade-1": "no", "grade-3": "nearly", "grade-4": "yes", "borderline": "3"}
    assert exam.post(HERE, scale).status_code == 302
    propose(exam, topic="effusion")
    for name in ("1", "2", "3"):
        assert [(each.code, each.name) for each in station(name).grades] == [
            (0, "no"),
            (1, "nearly"),
            (2, "yes"),
        ]
        assert station(name).borderline == 1


@pytest.mark.parametrize(
    "typed",
    [
        {"grade-1": "no", "grade-2": "yes"},
        {"grade-1": "a", "grade-2": "b", "grade-3": "c", "borderline": "3"},
    ],
)
def test_a_scale_that_cannot_be_used_is_refused(exam: Client, typed: dict[str, str]) -> None:
    """Three steps at least, and the borderline below the highest."""
    assert exam.post(HERE, {"step": "scale", **typed}).status_code == 400
    assert station().grades == GRADES


def test_open_stations_are_frozen(demo: Client) -> None:
    """Once the exam is open no station is altered, ordered, proposed or put on another scale; it is read."""
    page = text(demo.get(f"{HERE}ligaments/"))
    assert "<textarea" not in page
    before = station("ligaments")
    for address, typed in (
        (f"{HERE}ligaments/", {"title": "x", "seen": "1"}),
        (f"{HERE}ligaments/versions/1/", {}),
        (HERE, {"step": "propose", "topic": "menisci", "minutes": "8"}),
        (HERE, {"step": "scale"}),
        (HERE, {"move": "up:menisci"}),
    ):
        assert demo.post(address, typed).status_code in (302, 409), address
    assert station("ligaments") == before
    assert "Propose" not in text(demo.get(HERE))


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.TEACHER])
def test_exams_are_for_their_leads_alone(demo: Client, role: Role) -> None:
    """No other account opens a page of an exam or sees that there is one."""
    open_account("one", password=PHRASE, roles=[role])
    demo.force_login(Account.objects.get(name="one"))
    for address in ("/exams/", "/exams/1/", HERE, "/exams/1/timetable/", "/exams/1/papers/mark-sheets.pdf"):
        assert demo.get(address).status_code == 403, address
    assert demo.post("/exams/1/codes/examiners/").status_code == 403
    assert "/exams/" not in text(demo.get("/practice/"))


def test_a_station_that_changed_after_its_judges_is_named(exam: Client) -> None:
    """An item added after the estimates gives the station other marks: the page of the judges says so."""
    propose(exam, topic="menisci")
    rounds = "/exams/1/rules/judges/"
    form = {"step": "pasted", "table": "station,Ada,Ben\n1,60,50\n2,62,52\n", "seen": "0"}
    assert exam.post(rounds, form).status_code == 302
    assert "other marks" not in text(exam.get(rounds))
    save(exam, "2", **{"words-new": "Warms their hands", "domain-new": "courtesy", "seconds-new": "5"})
    says = "2 has been given other marks since it was estimated, and should be estimated anew"
    assert says in text(exam.get(rounds))
