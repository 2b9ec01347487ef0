import json
from typing import Any

import pytest
from django.test import Client

from fabella.store.clinic.models import Trace
from fabella.web.settings import LARGEST_BODY

VISIT = "/api/visits/9"  # open, and in dispute
SIGNED = "/api/visits/1"
SHAPE = {"status", "code", "message", "problems"}


def operation(number: int = 1, base: int = 10, **change: Any) -> dict[str, Any]:
    """An operation; by default one that states a normal Lachman test on the right."""
    default = {"change": "set_finding", "finding": {"sign": "lachman", "side": "right", "state": "normal"}}
    return {"id": f"sent-by-tests-{number:04}", "base": base, **(change or default)}


def send(client: Client, *operations: dict[str, Any], to: str = VISIT) -> Any:
    """Send operations and return the answer."""
    body = json.dumps({"operations": operations})
    return client.post(f"{to}/operations", body, content_type="application/json")


def test_the_state_is_the_whole_examination(demo: Client) -> None:
    """The state holds an examination file, who stated what, and what is in conflict."""
    state = demo.get(VISIT).json()
    assert state["examination"]["format"] == "fabella.examination/1"
    assert (state["visit"], state["status"], state["patient"]["number"]) == (9, "open", "INV-02")
    assert len(state["stated"]) >= len(state["examination"]["findings"])
    (conflict,) = state["conflicts"]
    assert (conflict["part"], conflict["name"], conflict["side"]) == ("finding", "effusion_sweep", "right")
    assert conflict["stands"]["value"]["level"] == "zero"
    assert [each["value"]["level"] for each in conflict["beside"]] == ["1+"]
    assert state["problems"] == []


def test_an_unchanged_state_costs_nothing_and_reads_nothing(demo: Client) -> None:
    """With the tag of the present state the answer is 304, without a body and without a line in the trail."""
    first = demo.get(VISIT)
    lines = Trace.objects.count()
    for address in (VISIT, f"{VISIT}/conclusion"):
        again = demo.get(address, headers={"If-None-Match": first.headers["ETag"]})
        assert (again.status_code, again.content) == (304, b"")
    assert Trace.objects.count() == lines
    send(demo, operation())
    assert demo.get(VISIT, headers={"If-None-Match": first.headers["ETag"]}).status_code == 200


def test_corrected_details_of_the_patient_are_news(demo: Client) -> None:
    """With another birth date comes another age, and with that another conclusion: neither is unchanged."""
    first = demo.get(VISIT)
    patient = first.json()["patient"]
    tag = {"If-None-Match": first.headers["ETag"]}
    assert demo.get(VISIT, headers=tag).status_code == 304
    details = {"number": patient["number"], "label": patient["label"], "birth_date": "1939-02-01", "sex": ""}
    assert demo.post(f"/patients/{patient['id']}/details/", details).status_code == 302
    then, now = (each.json()["examination"]["patient"] for each in (first, demo.get(VISIT, headers=tag)))
    assert now["age_years"] > then["age_years"]
    assert demo.get(f"{VISIT}/conclusion", headers=tag).status_code == 200


def test_saved_once_however_often_sent(demo: Client) -> None:
    """A batch sent again after a lost answer has the same answer, and the version does not move."""
    first = send(demo, operation(1), operation(2, change="set_history", item="fever", value=False)).json()
    assert [each["outcome"] for each in first["results"]] == ["saved", "saved"]
    again = send(demo, operation(1), operation(2, change="set_history", item="fever", value=False)).json()
    assert again == first
    assert demo.get(VISIT).json()["version"] == first["version"]


def test_each_operation_has_its_own_answer(demo: Client) -> None:
    """A wrong operation is refused with its problems between two that are saved."""
    wrong = operation(2, change="set_history", item="fever", value="yes")
    answer = send(demo, operation(1), wrong, operation(3)).json()
    assert [each["outcome"] for each in answer["results"]] == ["saved", "refused", "saved"]
    (problem,) = answer["results"][1]["problems"]
    assert problem == {
        "place": "operations[1].value",
        "value": "yes",
        "says": "is text, not true or false",
        "remedy": "",
    }


def test_a_conflict_is_answered_as_one(demo: Client) -> None:
    """Another browser that has not seen an entry is told that its own stands beside it."""
    send(demo, operation(1))
    other = Client(SERVER_NAME="localhost")
    lax = {"sign": "lachman", "side": "right", "state": "abnormal", "level": "2+"}
    answer = send(other, operation(2, base=10, change="set_finding", finding=lax)).json()
    assert answer["results"][0]["outcome"] == "conflict"
    assert {each["name"] for each in answer["conflicts"]} == {"effusion_sweep", "lachman"}
    assert demo.get(VISIT).json()["conflicts"] == answer["conflicts"]


def test_another_window_of_the_same_browser_is_asked_as_well(demo: Client) -> None:
    """An operation that tells what was on its screen replaces nothing else, not even of the same person."""
    send(demo, operation(1))
    lax = {"sign": "lachman", "side": "right", "state": "abnormal", "level": "2+"}
    change: dict[str, Any] = {"change": "set_finding", "finding": lax}
    unseen = send(demo, {**operation(2, **change), "seen": []}).json()
    assert unseen["results"][0]["outcome"] == "conflict"
    shown = ["sent-by-tests-0001", "sent-by-tests-0002"]
    settled = send(demo, {**operation(3, **change), "seen": shown}).json()
    assert settled["results"][0]["outcome"] == "saved"
    assert {each["name"] for each in settled["conflicts"]} == {"effusion_sweep"}
    assert send(demo, {**operation(3, **change), "seen": shown}).json() == settled


@pytest.mark.parametrize(
    ("seen", "place"), [("everything", "seen"), (["short"], "seen[0]"), (["a" * 16] * 1001, "seen")]
)
def test_what_was_seen_is_a_list_of_ids(demo: Client, seen: object, place: str) -> None:
    """Anything else is refused at its place."""
    (result,) = send(demo, {**operation(), "seen": seen}).json()["results"]
    assert [each["place"] for each in result["problems"]] == [f"operations[0].{place}"]


def test_a_version_that_never_was_is_refused(demo: Client) -> None:
    """An operation made on a later version than there is, as after restoring a copy, is refused."""
    (result,) = send(demo, operation(base=10**6)).json()["results"]
    assert result["outcome"] == "refused"
    assert result["problems"][0]["place"] == "operations[0].base"
    assert "has not reached" in result["problems"][0]["says"]


@pytest.mark.parametrize("header", ["X-Author", "X-Device"])
def test_what_somebody_else_entered_is_not_saved_under_ones_own_name(demo: Client, header: str) -> None:
    """A browser says whose entries it sends; if they are another's, nothing is saved."""
    version = demo.get(VISIT).json()["version"]
    body = json.dumps({"operations": [operation()]})
    answer = demo.post(
        f"{VISIT}/operations", body, content_type="application/json", headers={header: "somebody%20else"}
    )
    assert (answer.status_code, answer.json()["error"]["code"]) == (403, "not_allowed")
    assert demo.get(VISIT).json()["version"] == version


def test_one_touch_marks_a_position(demo: Client) -> None:
    """Marking the special tests normal states each of them, on both sides."""
    send(demo, operation(1, change="mark_normal", position="special"))
    findings = demo.get(VISIT).json()["examination"]["findings"]
    lachman = [each for each in findings if each["sign"] == "lachman"]
    assert [(each["side"], each["state"]) for each in lachman] == [("right", "normal"), ("left", "normal")]


def test_a_signed_visit_refuses_each_operation(demo: Client) -> None:
    """On a signed visit an operation is refused by itself, with the remedy."""
    (result,) = send(demo, operation(), to=SIGNED).json()["results"]
    assert (result["outcome"], result["problems"][0]["remedy"]) == ("refused", "amend the examination first")


def test_the_conclusion_has_words_numbers_and_sources(demo: Client) -> None:
    """What cannot wait comes with its source; each lesion with interval, reasons and their sources."""
    conclusion = demo.get("/api/visits/11/conclusion").json()
    assert conclusion["cannot_wait"][0]["when"] == "now"
    assert conclusion["cannot_wait"][0]["source"]
    assert [knee["side"] for knee in conclusion["knees"]] == ["right", "left"]
    lesion = conclusion["knees"][0]["lesions"][0]
    assert (lesion["id"], lesion["low"] <= lesion["probability"] <= lesion["high"]) == (
        "septic_arthritis",
        True,
    )
    assert all(reason["sources"] and reason["name"] for reason in lesion["for"])
    assert conclusion["failures"] == []
    assert conclusion["version"] == demo.get("/api/visits/11").json()["version"]


def test_the_conclusion_moves_with_the_examination(demo: Client) -> None:
    """A new finding gives a new conclusion under a new tag; the same state is computed once."""
    before = demo.get(f"{VISIT}/conclusion")
    lax = {"sign": "lachman", "side": "left", "state": "abnormal", "level": "3+"}
    send(demo, operation(1, change="set_finding", finding=lax))
    after = demo.get(f"{VISIT}/conclusion")
    assert after.headers["ETag"] != before.headers["ETag"]
    assert after.json()["knees"][1] != before.json()["knees"][1]


# ------------------------------------------------------------------ one shape for whatever goes wrong


@pytest.mark.parametrize(
    ("address", "body", "expected"),
    [
        ("/api/visits/999", None, (404, "not_there")),
        ("/api/nothing", None, (404, "not_there")),
        (f"{VISIT}/operations", "{", (400, "wrong")),
        (f"{VISIT}/operations", '{"operation": []}', (400, "wrong")),
        (f"{VISIT}/operations", "[" * 9000, (400, "wrong")),
        (f"{VISIT}/operations", None, (405, "method")),
        (VISIT, "{}", (405, "method")),
        (f"{VISIT}/operations", "x" * (LARGEST_BODY + 1), (413, "too_large")),
    ],
)
def test_every_refusal_has_the_same_shape(
    address: str, body: str | None, expected: tuple[int, str], demo: Client
) -> None:
    """Whatever is wrong, a script reads status, code, message and problems at the same places."""
    answer = demo.get(address) if body is None else demo.post(address, body, content_type="application/json")
    error = answer.json()["error"]
    assert set(error) == SHAPE
    assert (error["status"], error["code"]) == expected
    assert answer.status_code == error["status"]
    assert error["message"]


def test_a_fault_of_ours_tells_nothing_of_its_inside(demo: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """An unforeseen failure is owned up to in the same shape, as JSON and as a page, without a traceback."""

    def fail(*_: object, **__: object) -> None:
        raise KeyError("the inside")

    monkeypatch.setattr("fabella.web.api.visit.save", fail)
    monkeypatch.setattr("fabella.web.pages.visit.see_visit", fail)
    answers = [send(demo, operation()), demo.get("/visits/9/")]
    assert [each.status_code for each in answers] == [500, 500]
    assert answers[0].json()["error"]["code"] == "ours"
    assert all(b"the inside" not in each.content for each in answers)


@pytest.mark.usefixtures("demo")
def test_nothing_is_written_without_our_own_token() -> None:
    """A form or script that does not come from our page is refused, at every address that takes one."""
    from tests.web.walking import routes  # noqa: PLC0415

    strict = Client(SERVER_NAME="localhost", enforce_csrf_checks=True)
    for route in routes():
        assert route.entrance is not None
        if "POST" in route.entrance.methods:
            answer = strict.post(route.address, {})
            assert answer.status_code == 403, route.name
            if route.address.startswith("/api/"):
                assert answer.json()["error"]["code"] == "not_from_here"


@pytest.mark.usefixtures("demo")
def test_the_token_of_our_page_lets_a_script_write() -> None:
    """The cookie's token, repeated in a header, is what a script of ours sends."""
    strict = Client(SERVER_NAME="localhost", enforce_csrf_checks=True)
    strict.get("/visits/9/")
    token = strict.cookies["fabella_csrf"].value
    body = json.dumps({"operations": [operation()]})
    answer = strict.post(
        f"{VISIT}/operations", body, content_type="application/json", headers={"X-CSRFToken": token}
    )
    assert answer.json()["results"][0]["outcome"] == "saved"


def test_another_name_is_a_strangers_page_asking(demo: Client) -> None:
    """A request under a name that is not this server's is refused, whoever sent it here."""
    answer = demo.get("/", headers={"host": "elsewhere.test"})
    assert answer.status_code == 400
    assert "INV-" not in answer.content.decode()


def test_that_nobody_complains_is_dictated_stated_and_taken_back(demo: Client) -> None:
    """What the dictation proposes can be stated as it is, and an empty list makes it unknown again."""
    text = json.dumps({"text": "Fitness examination, no complaints. Both knees normal."})
    proposed = demo.post("/api/dictation", text, content_type="application/json").json()
    assert proposed["complete"]
    assert proposed["context"] == {"complaint": "none"}
    assert "complaint: none" in proposed["told"]
    for number, value in enumerate((proposed["context"]["complaint"], []), start=7):
        change = {"change": "set_context", "field": "complaint", "value": value}
        (answer,) = send(demo, operation(number, demo.get(VISIT).json()["version"], **change)).json()[
            "results"
        ]
        assert answer["outcome"] == "saved"
        assert demo.get(VISIT).json()["examination"]["context"].get("complaint") == (value or None)
