"""What the codes of an exam open, by every address there is, and what a tablet is answered."""

import json
import re
from html import unescape
from random import Random
from typing import Any
from urllib.parse import unquote

import pytest
from django.template import engines
from django.test import Client
from django.urls import resolve

from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.store.accounts.models import Account
from fabella.store.exams.codes import Kind, end_code, make_codes
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import Stage, make_exam
from fabella.store.exams.models import MarkEvent
from fabella.store.exams.opening import move
from fabella.store.exams.papers import put_paper
from fabella.store.exams.results import keep_result
from fabella.web.attempts import CODES_FOR_AN_EXAM_HALL
from fabella.web.demo.examining import CANDIDATE, CANDIDATE_CODE, EXAMINER, EXAMINER_CODE
from fabella.web.marking.sheet_lines import SheetLine
from fabella.web.templating import url
from tests.store.exam_days import TIM, event, marks, opened
from tests.store.people import NOW
from tests.web.walking import Route, routes

PHRASE = "seven grey herons wade"
ROUTES = list(routes())
DICE = Random(3).randrange
AFTER_2026_BEGAN = 1_767_225_600_000


def browser() -> Client:
    """Another browser."""
    return Client(SERVER_NAME="localhost")


@pytest.fixture
def hall(client: Client) -> int:
    """An open exam in a clinic with an account, so that nobody is let in without one; its number."""
    del client  # who brings the empty databases
    open_account("tim", password=PHRASE, roles=[Role.TEACHER])
    return opened()


def entered(exam: int, person: str, kind: Kind = Kind.EXAMINER) -> Client:
    """A browser in which somebody has entered their code."""
    ((_, code),) = make_codes(TIM, exam, kind, [person], now=NOW, dice=DICE)
    made = browser()
    assert made.post("/mark/", {"code": code}).status_code == 302
    return made


def send(who: Client, *events: dict[str, Any], **headers: str) -> Any:
    """Send events as a tablet does."""
    return who.post(
        "/api/mark/events",
        json.dumps({"operations": events}),
        content_type="application/json",
        headers=headers,
    )


def text(answer: Any) -> str:
    """Everything that was sent."""
    return unescape(answer.content.decode(errors="replace") + str(answer.headers))


def ask(who: Client, route: Route, method: str) -> Any:
    """Ask for an address by a method."""
    return who.generic(method, route.address)


# ------------------------------------------------------------------ the door


def test_a_code_leads_to_what_is_its_bearers(hall: int) -> None:
    """An examiner comes to their sheets, a candidate to their result; the cookie is for this site alone."""
    edith, first = entered(hall, "Edith"), entered(hall, "C1", Kind.CANDIDATE)
    assert edith.get("/mark/sheets/").status_code == 200
    assert "not released" in text(first.get("/mark/result/"))
    cookie = edith.cookies["fabella_exam"]
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Strict")
    assert "Edith" in text(edith.get("/mark/"))


def test_a_wrong_code_opens_nothing(hall: int) -> None:
    """The door stays shut and says so; without a code nothing behind it is shown."""
    assert hall
    stranger = browser()
    answer = stranger.post("/mark/", {"code": "CCCCDDDD"})
    assert answer.status_code == 404
    assert "There is no such code" in text(answer)
    assert stranger.get("/mark/sheets/").headers["Location"] == "/mark/"


def test_guessing_codes_is_stopped(hall: int) -> None:
    """After many wrong codes the hall has to wait; whoever is in goes on."""
    edith, guesser = entered(hall, "Edith"), browser()
    for _ in range(CODES_FOR_AN_EXAM_HALL):
        assert guesser.post("/mark/", {"code": "CCCCDDDD"}).status_code == 404
    assert guesser.post("/mark/", {"code": "CCCCDDDD"}).status_code == 429
    assert edith.get("/mark/sheets/").status_code == 200


def test_a_pass_that_was_not_given_here_is_none(hall: int) -> None:
    """A cookie that somebody wrote themselves, or changed, opens nothing."""
    edith, forged = entered(hall, "Edith"), browser()
    for value in ("1", "1:forged", edith.cookies["fabella_exam"].value[:-2] + "xx"):
        forged.cookies["fabella_exam"] = value
        assert forged.get("/mark/sheets/").status_code == 302


def test_a_code_that_was_taken_back_shuts_at_once(hall: int) -> None:
    """Whoever is inside by a code is outside as soon as it ends; leaving does the same for one browser."""
    edith, fred = entered(hall, "Edith"), entered(hall, "Fred")
    end_code(TIM, hall, Kind.EXAMINER, "Edith", now=NOW)
    assert edith.get("/mark/sheets/").status_code == 302
    assert send(edith, event("begin")).json()["error"]["code"] == "no_code"
    fred.post("/mark/", {"step": "leave"})
    assert fred.get("/mark/sheets/").status_code == 302


def test_every_answer_tells_the_worker_whose_it_is(hall: int) -> None:
    """Copies that a browser keeps for one code go when another is entered."""
    edith = entered(hall, "Edith")
    assert edith.get("/mark/sheets/").headers["X-Person"] == f"exam%3A{hall}%3Aexaminer%3AEdith"
    assert browser().get("/mark/").headers["X-Person"] == "(nobody)"
    both = edith
    both.force_login(Account.objects.get(name="tim"))
    assert both.get("/exams/").headers["X-Person"] == f"tim+exam%3A{hall}%3Aexaminer%3AEdith"


def test_the_sheets_may_be_kept_while_the_exam_is_open(hall: int) -> None:
    """The page that works without a connection is kept by the browser; of a closed exam it is not."""
    edith = entered(hall, "Edith")
    assert edith.get("/mark/sheets/").headers["X-Keep"] == "open"
    move(TIM, hall, Stage.CLOSED, now=NOW)
    assert "X-Keep" not in edith.get("/mark/sheets/").headers


# ------------------------------------------------------------------ privacy, by every address


@pytest.mark.usefixtures("demo")
@pytest.mark.parametrize("kind", Kind)
def test_a_code_opens_nothing_but_its_own_pages(kind: Kind) -> None:
    """By every address and every method the bearer of a code is led away from all that is not for codes.

    Nothing that they are sent names another station, examiner or candidate of the exam, or a patient.
    """
    open_account("tim", password=PHRASE, roles=[Role.TEACHER])
    code = EXAMINER_CODE if kind is Kind.EXAMINER else CANDIDATE_CODE
    own = browser()
    assert own.post("/mark/", {"code": code}).status_code == 302
    before = MarkEvent.objects.count()
    open_to_all = 0
    for route in ROUTES:
        assert route.entrance is not None
        for method in route.entrance.methods:
            own.cookies.pop("fabella_pass", None)  # a class lets in whoever comes
            own.post("/mark/", {"code": code})
            answer = ask(own, route, method)
            if route.roles is None:
                open_to_all += 1
            elif route.entrance.exam is not kind:
                refused = answer.status_code in {401, 403} or answer.headers.get("Location", "").startswith(
                    "/login/"
                )
                assert refused, (route.name, method, answer.status_code)
            told = text(answer) if not answer.headers.get("Location") else ""  # it repeats what was asked for
            others = {"Lantern", "Thimble", "Bellow", "The swollen knee", "Menisci and locking"}
            if kind is Kind.CANDIDATE:
                others |= {"C02", "C03", EXAMINER, "Look and gait"}
            if not route.address.startswith(("/class/", "/practice/")):
                assert not [each for each in others if each in told], (route.name, method)
    assert open_to_all > 5
    assert MarkEvent.objects.count() == before
    assert CANDIDATE in text(own.get("/mark/result/")) or kind is Kind.EXAMINER


def test_an_examiner_is_sent_their_own_station_and_candidates_alone(hall: int) -> None:
    """Page and state hold the station of their duties, and no mark that another examiner made."""
    edith, fred = entered(hall, "Edith"), entered(hall, "Fred")
    send(fred, *marks(2, station="two"), event("comment", station="two", item="", text="Fred's own words"))
    for told in (text(edith.get("/mark/sheets/")), text(edith.get("/api/mark/sheets"))):
        assert '"one"' in told
        assert '"two"' not in told
        assert "Fred" not in told
    sheets = edith.get("/api/mark/sheets").json()["sheets"]
    assert [(each["candidate"], each["number"]) for each in sheets] == [("C1", 0), ("C2", 0), ("C3", 0)]


def test_a_code_of_another_exam_opens_nothing_of_this_one(hall: int) -> None:
    """The same name in another exam sees and marks that one alone."""
    other = entered(opened(), "Edith")
    send(entered(hall, "Edith"), *marks(2))
    assert {each["number"] for each in other.get("/api/mark/sheets").json()["sheets"]} == {0}


def test_an_account_is_no_code(hall: int) -> None:
    """A teacher who is logged in sees no examiner's page without that examiner's code."""
    assert hall
    tim = browser()
    tim.force_login(Account.objects.get(name="tim"))
    for address in ("/mark/sheets/", "/mark/result/", "/api/mark/sheets"):
        assert tim.get(address).status_code == 403
    assert tim.get(f"/exams/{hall}/watch/").status_code == 200


def test_a_candidate_reads_their_own_released_result_alone(hall: int) -> None:
    """Before the release nothing; then what was decided about them, and of nobody else."""
    first = entered(hall, "C1", Kind.CANDIDATE)
    move(TIM, hall, Stage.CLOSED, now=NOW)
    decisions = [
        {"candidate": name, "outcome": outcome, "total": total, "pass_mark": 55.0}
        for name, outcome, total in (("C1", "pass", 61.25), ("C2", "fail", 43.5))
    ]
    keep_result(TIM, hall, json.dumps({"decisions": decisions}), now=NOW)
    assert "not released" in text(first.get("/mark/result/"))
    move(TIM, hall, Stage.RELEASED, now=NOW)
    told = text(first.get("/mark/result/"))
    assert "61.2%" in told
    assert not re.findall(r"\b(43\.5|C2|fail)\b", told)  # whole words: a random token may hold any letters
    third = entered(hall, "C3", Kind.CANDIDATE)
    assert "Nothing was decided about you" in text(third.get("/mark/result/"))


# ------------------------------------------------------------------ a tablet


def test_a_tablet_is_answered_event_by_event(hall: int) -> None:
    """Each event has its place, a repeat the same; what is wrong is told, and the rest is kept."""
    edith = entered(hall, "Edith")
    batch = [event("begin"), *marks(2, 9), event("grade", grade=3)]
    first = send(edith, *batch).json()["results"]
    assert [(each["outcome"], each["version"]) for each in first] == [
        ("saved", 1),
        ("saved", 2),
        ("refused", None),
        ("saved", 3),
    ]
    assert "write 0 to 2" in first[2]["problems"][0]["remedy"]
    assert send(edith, *batch).json()["results"] == first
    assert send(edith).json()["results"] == []


def test_marks_of_another_examiner_are_not_taken(hall: int) -> None:
    """A tablet that changed hands does not send the first examiner's marks under the second's code."""
    fred = entered(hall, "Fred")
    answer = send(fred, event("begin"), **{"X-Author": f"exam%3A{hall}%3Aexaminer%3AEdith"})
    assert (answer.status_code, answer.json()["error"]["code"]) == (403, "not_allowed")


def test_a_tablet_keeps_what_a_closed_exam_does_not_take(hall: int) -> None:
    """The answer is one on which a tablet waits, not one on which it lets go."""
    edith = entered(hall, "Edith")
    move(TIM, hall, Stage.CLOSED, now=NOW)
    answer = send(edith, *marks(2))
    assert answer.status_code == 409
    assert "stays on this device" in answer.json()["error"]["message"]


def test_what_has_not_changed_is_not_sent_again(hall: int) -> None:
    """The state has a tag; every answer, also that nothing changed, tells the server's time."""
    edith = entered(hall, "Edith")
    first = edith.get("/api/mark/sheets")
    again = edith.get("/api/mark/sheets", headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304
    for answer in (first, again):
        assert int(answer.headers["X-Now"]) > AFTER_2026_BEGAN
    send(edith, *marks(2))
    changed = edith.get("/api/mark/sheets", headers={"If-None-Match": first.headers["ETag"]})
    assert changed.json()["sheets"][0]["marks"] == {"look": 2}


# ------------------------------------------------------------------ the lead


@pytest.fixture
def lead(hall: int) -> Client:
    """The lead's browser."""
    assert hall
    made = browser()
    made.force_login(Account.objects.get(name="tim"))
    return made


def test_the_lead_sees_a_dispute_and_settles_it(hall: int, lead: Client) -> None:
    """Both values are shown; with a reason one of them holds, without one nothing changes."""
    one, two = entered(hall, "Edith"), browser()
    ((_, code),) = make_codes(TIM, hall, Kind.EXAMINER, ["Edith"], now=NOW, dice=DICE)
    for tablet in (one, two):  # the second code of one person ends the first
        tablet.post("/mark/", {"code": code})
    send(one, *marks(1))
    send(two, *marks(2))
    assert "1: partly or 2: well" in text(lead.get(f"/exams/{hall}/watch/now/"))
    address = f"/exams/{hall}/watch/one/C1/Edith/"
    holds = MarkEvent.objects.get(number=2).key
    form = {"about": "mark", "item": "look", "holds": holds, "seen": "2"}
    assert lead.post(address, form).status_code == 400
    assert lead.post(address, {**form, "seen": "1", "reason": "asked her"}).status_code == 409
    assert lead.post(address, {**form, "about": "dance", "reason": "asked her"}).status_code == 400
    assert lead.post(address, {**form, "reason": "asked her"}).status_code == 302
    assert one.get("/api/mark/sheets").json()["sheets"][0]["marks"] == {"look": 2}
    assert "1: partly or 2: well" not in text(lead.get(f"/exams/{hall}/watch/now/"))
    assert "asked her" in text(lead.get(address))


def test_only_the_lists_that_are_open_are_fetched_again(hall: int, lead: Client) -> None:
    """The page has every sheet; renewed, those of examiners whose list is open, and all to be mended.

    With 864 sheets each renewal had all of them: 45 ms of a processor and 14 kB, for lists that were shut.
    """
    watch, ways = f"/exams/{hall}/watch/", r'href="(/exams/\d+/watch/[^"]+/)"'
    entered(hall, "Edith")  # who has no code has no tablet of which nothing could arrive
    whole = re.findall(ways, text(lead.get(watch)))
    assert {each.split("/")[-2] for each in whole} == {"Edith", "Fred"}
    for address in whole:
        assert lead.get(address).status_code == 200
    mended = {each for each in whole if whole.count(each) > 1}
    now = text(lead.get(f"{watch}now/"))
    assert set(re.findall(ways, now)) == mended
    assert "<li>Edith: of the last 3 candidates whose bell has gone</li>" in now
    opened = re.findall(ways, text(lead.get(f"{watch}now/?open=Edith&open=nobody")))
    assert set(opened) - mended == {each for each in whole if each.endswith("/Edith/")} - mended
    assert opened.count(f"{watch}one/C1/Edith/") == whole.count(f"{watch}one/C1/Edith/")


@pytest.mark.parametrize("name", ["Dr. Ö'Neil & Söhne", "a%b?c#d", "x+y=z", "1:2 (3)"])
def test_a_sheet_is_found_by_any_name(name: str) -> None:
    """The address below the page that watches is one that the server knows, whatever people are called."""
    key = SheetKey(candidate=name, station="one", examiner=name[::-1])
    line = SheetLine(key=key, title="One", shape="none", words="", when="", notes=())
    jinja: Any = engines["jinja2"]
    macros = jinja.env.get_template("marking_parts.html").module
    written = str(macros.sheet_link(line, url("exam_watch", exam_id=1)))
    address = unescape(re.findall('href="([^"]+)"', written)[0])
    found = resolve(unquote(address.partition("?")[0]))
    assert found.kwargs == {"exam_id": 1, "station": "one", "candidate": name, "examiner": name[::-1]}
    assert "#" not in address
    assert "?" not in address


def test_a_sheet_marked_on_two_tablets_is_settled_in_one_step(hall: int, lead: Client) -> None:
    """The page of the day says how much disagrees, not what; one reason and one touch settle all of it."""
    one, two = entered(hall, "Edith"), browser()
    ((_, code),) = make_codes(TIM, hall, Kind.EXAMINER, ["Edith"], now=NOW, dice=DICE)
    for tablet in (one, two):
        tablet.post("/mark/", {"code": code})
    send(one, *marks(0, 1, 1), event("grade", grade=1))
    send(two, *marks(1, 2, 2), event("grade", grade=3))
    watch = f"/exams/{hall}/watch/now/"
    told = text(lead.get(watch))
    assert "3 items and the global rating; 3 of 3 items marked, the global rating given" in told
    assert "1: partly" not in told
    address = f"/exams/{hall}/watch/one/C1/Edith/"
    page = text(lead.get(address))
    assert "Two entries disagree on 4 things" in page
    assert page.count("All of this holds") == 2
    like = MarkEvent.objects.get(number=5).key
    assert f'name="like" value="{like}"' in page
    form = {"like": like, "seen": "8"}
    assert lead.post(address, {**form, "reason": ""}).status_code == 400
    assert lead.post(address, {**form, "like": "nothing", "reason": "asked her"}).status_code == 400
    assert lead.post(address, {**form, "reason": "asked her"}).status_code == 302
    assert "disagree" not in text(lead.get(address))
    sheet = one.get("/api/mark/sheets").json()["sheets"][0]
    assert (sheet["marks"], sheet["grade"]) == ({"look": 1, "feel": 2, "move": 2}, 3)


def test_the_lead_opens_a_finished_sheet_again(hall: int, lead: Client) -> None:
    """With a reason it is the examiner's to change again."""
    edith = entered(hall, "Edith")
    send(edith, *marks(1, 1, 1), event("finish"))
    address = f"/exams/{hall}/watch/one/C1/Edith/"
    assert lead.post(address, {"step": "reopen", "seen": "4", "reason": "wrong candidate"}).status_code == 302
    assert edith.get("/api/mark/sheets").json()["sheets"][0]["reopened"] == ["wrong candidate"]


def test_paper_is_typed_in_twice_on_pages(hall: int, lead: Client) -> None:
    """The second to type is shown nothing of the first; what differs leads to the sheet, to be settled."""
    address = f"/exams/{hall}/typed/one/C1/Edith/"
    first = {f"item-{each}": "2" for each in ("look", "feel", "move")} | {"grade": "3", "typist": "ab"}
    assert lead.post(address, {"typist": "ab"}).status_code == 400
    assert lead.post(address, first | {"item-look": "7"}).status_code == 400
    assert (
        lead.post(address, first | {"comment": "seen by the first"}).headers["Location"].endswith("/typed/")
    )
    assert "somebody else" in text(lead.get(f"/exams/{hall}/typed/"))
    form = lead.get(address)
    assert "The second of two" in text(form)
    assert "seen by the first" not in text(form)
    assert lead.post(address, first).status_code == 400, "by the same initials"
    second = first | {
        "item-feel": "",
        "item-move": "not_observed",
        "typist": "cd",
        "comment": "seen by the first",
    }
    assert lead.post(address, second).headers["Location"] == f"/exams/{hall}/watch/one/C1/Edith/"
    told = text(lead.get(f"/exams/{hall}/typed/"))
    assert "2: well or nothing" in told
    assert "2: well or not observed" in told
    assert "Type in: C1" not in text(lead.get(f"/exams/{hall}/typed/?q=C1+Edith"))
    assert "Type in: C2" in text(lead.get(f"/exams/{hall}/typed/?q=c2+edith"))


def test_a_day_without_a_timetable_can_be_watched(lead: Client) -> None:
    """Before anything is planned the page says so; an exam that is not there is not found."""
    bare = make_exam(TIM, "Bare", day=NOW.date(), now=NOW)
    assert "There is no timetable" in text(lead.get(f"/exams/{bare}/watch/"))
    put_paper(TIM, bare, "rules", "{}", now=NOW)
    assert lead.get("/exams/99/watch/").status_code == 404
    assert lead.get(f"/exams/{bare}/watch/one/C1/Edith/").status_code == 404
