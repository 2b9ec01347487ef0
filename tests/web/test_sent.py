"""Whatever scripts send is answered event by event: nothing odd stops what stands beside it."""

from __future__ import annotations

import json
from itertools import count
from typing import Any

import pytest
from django.http import HttpRequest, UnreadablePostError
from django.test import Client

from fabella.web.demo.examining import EXAMINER_CODE
from tests.web.walking import OPEN_RUN

HALF = r'"\ud83e"'
"""Half of a character, as a text holds that was cut in the middle of one."""

HUGE = "1" + "0" * 400
DEEP = '{"a": ' * 900 + "1" + "}" * 900
ODD = (HALF, "NaN", "1e400", HUGE, DEEP, '{"a": 1, "a": 2}', '"²"', r'"\u0000"', "null", "[]", "{}", "true")
_ids = (f"sent-by-tests-{number:06}" for number in count())


def one_wrong(event: dict[str, Any], name: str, odd: str) -> str:
    """An event as it is sent, with something odd under a name."""
    rest = json.dumps({key: value for key, value in event.items() if key != name})[1:]
    return f'{{"{name}": {odd}{", " if len(rest) > 1 else ""}{rest}'


def outcomes(client: Client, to: str, name: str, *events: str) -> list[str]:
    """What became of events that were sent at once."""
    answer = client.post(to, f'{{"{name}": [{", ".join(events)}]}}', content_type="application/json")
    assert answer.status_code < 500, (to, events)
    return [each["outcome"] for each in answer.json().get("results", ())]


@pytest.fixture
def examiner(demo: Client) -> Client:
    """A tablet in which an examiner of the invented exam has entered their code."""
    demo.post("/mark/", {"code": EXAMINER_CODE})
    return demo


def marked(examiner: Client, **about: Any) -> dict[str, Any]:
    """An event about the last of an examiner's sheets, which nobody has begun."""
    sheet = examiner.get("/api/mark/sheets").json()["sheets"][-1]
    at = {"at": "2026-11-25T10:04:00Z", "seconds": 1.5, "seen": 0}
    return {"id": next(_ids), "candidate": sheet["candidate"], "station": sheet["station"], **at, **about}


def test_half_a_character_in_a_comment_stops_neither_the_marks_nor_the_page(examiner: Client) -> None:
    """It is refused by itself with its place; what was sent with it is kept, and the lead sees the sheet."""
    first, last = marked(examiner, act="begin"), marked(examiner, act="comment", text="Calm.")
    wrong = one_wrong(marked(examiner, act="comment"), "text", HALF)
    sent = (json.dumps(first), wrong, json.dumps(last))
    assert outcomes(examiner, "/api/mark/events", "operations", *sent) == ["saved", "refused", "saved"]
    person = examiner.get("/api/mark/sheets").json()["person"]
    page = examiner.get(f"/exams/1/watch/{first['station']}/{first['candidate']}/{person}/")
    assert page.status_code == 200
    assert "Calm." in page.content.decode()


@pytest.mark.parametrize("odd", ODD)
def test_an_odd_value_of_a_mark_is_no_fault_of_ours(examiner: Client, odd: str) -> None:
    """Whichever field it stands in, the event is answered."""
    for event in (
        marked(examiner, act="mark", item="greets", mark=1),
        marked(examiner, act="grade", grade=2),
    ):
        for name in event:
            outcomes(examiner, "/api/mark/events", "operations", one_wrong(event, name, odd))


@pytest.mark.parametrize("odd", ODD)
def test_an_odd_value_of_a_press_is_no_fault_of_ours(demo: Client, odd: str) -> None:
    """Whichever field it stands in, the event is answered, and the run can still be seen."""
    events: tuple[dict[str, Any], ...] = (
        {"act": "do", "sign": "lachman", "side": "right", "thought_s": 1.0},
        {"act": "believe", "beliefs": [["acl_tear", 0.7]]},
        {"act": "complete", "would": ["MRI"]},
    )
    to = f"/api/practice/{OPEN_RUN}/events?shown=0"
    for event in events:
        for name in ("id", *event):
            outcomes(demo, to, "events", one_wrong({"id": next(_ids), **event}, name, odd))
    for within in (f"[{odd}]", f'[["acl_tear", {odd}]]', f"[[{odd}, 0.5]]"):
        outcomes(demo, to, "events", one_wrong({"id": next(_ids), "act": "believe"}, "beliefs", within))
        outcomes(demo, to, "events", one_wrong({"id": next(_ids), "act": "complete"}, "would", within))
    assert demo.get(f"/practice/runs/{OPEN_RUN}/").status_code == 200


@pytest.mark.parametrize(
    "event",
    [
        {"act": "believe", "beliefs": [["acl_tear", 0.7]] * 41},
        {"act": "believe", "beliefs": "acl_tear"},
        {"act": "complete", "would": "MRI"},
    ],
)
def test_what_cannot_be_kept_whole_is_refused(demo: Client, event: dict[str, Any]) -> None:
    """More beliefs than are read, or a text in the place of a list, is not kept as if nothing was said."""
    sent = json.dumps({"id": next(_ids), **event})
    assert outcomes(demo, f"/api/practice/{OPEN_RUN}/events", "events", sent) == ["refused"]


def test_two_lists_under_one_name_are_refused(demo: Client) -> None:
    """Nothing is kept of a batch whose one half would be forgotten."""
    press = json.dumps({"id": next(_ids), "act": "watch_face"})
    text = f'{{"events": [{press}], "events": []}}'
    to = f"/api/practice/{OPEN_RUN}/events"
    assert demo.post(to, text, content_type="application/json").status_code == 400


FORM = '--x\r\nContent-Disposition: form-data; name="a"\r\n\r\n1\r\n--x--\r\n'
NO_FORMS = (
    ("multipart/form-data", "{}"),
    ("multipart/form-data; boundary=x", FORM),
    ("application/x-www-form-urlencoded; charset=utf-16", "a=1"),
)


@pytest.mark.parametrize(("kind", "body"), NO_FORMS)
def test_what_is_no_form_and_no_json_is_refused(demo: Client, kind: str, body: str) -> None:
    """Whatever a request says that it is, it is not answered as a fault of ours."""
    strict = Client(SERVER_NAME="localhost", enforce_csrf_checks=True)
    strict.get("/patients/new/")
    token = {"X-CSRFToken": strict.cookies["fabella_csrf"].value}
    for to in ("/api/visits/9/operations", f"/api/practice/{OPEN_RUN}/events", "/api/dictation", "/login/"):
        for client in (demo, strict):
            answer = client.generic("POST", to, body, content_type=kind, headers=token)
            assert answer.status_code < 500, to


def test_a_request_that_breaks_off_can_be_sent_again(demo: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is neither refused, for its sender would give it up, nor called a fault of ours."""

    def broken(_: object) -> bytes:
        raise UnreadablePostError("the connection is gone")

    monkeypatch.setattr(HttpRequest, "body", property(broken))
    answer = demo.post("/api/visits/9/operations", "{}", content_type="application/json")
    assert (answer.status_code, answer.json()["error"]["code"]) == (503, "broke_off")
