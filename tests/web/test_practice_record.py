import csv
import json
import secrets
from codecs import BOM_UTF8
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from html import unescape
from io import StringIO
from typing import Any

import pytest
from django.test import Client

from fabella.anatomy import Side
from fabella.grade import levels_of
from fabella.protocol import load_protocol
from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.store.accounts.models import Account
from fabella.store.school.adding import add_events
from fabella.store.school.learner import Learner
from fabella.store.school.models import PracticeOutcome, PracticeRun
from fabella.store.school.practising import begin_run, keep_lesson
from fabella.store.school.remembering import keep_facts, past_runs
from fabella.teach import (
    BeliefFact,
    HabitFact,
    Lesson,
    Reading,
    Recipe,
    RunFacts,
    SignFact,
    Terms,
    Topic,
    draw_patient,
    read_recipe,
)
from fabella.web.practice.record_file import COLUMNS, table
from fabella.web.visitor import local_clinician

PHRASE = "seven grey herons wade"
CHOSEN = {"curriculum": "ligaments", "setting": "emergency", "minutes": "10", "told": ""}
NAMES = [name for name, _ in COLUMNS]
LONG_AGO = datetime(2025, 3, 31, 18, tzinfo=UTC)
EMPTY = RunFacts(minutes=8.0, told=False, seconds=425.0, signs=(), habits=(), beliefs=())


def sign(name: str, reading: Reading, *, abnormal: bool | None = True) -> SignFact:
    """What became of a sign on the right."""
    return SignFact(sign=name, side=Side.RIGHT, reading=reading, abnormal=abnormal, at_s=61.5, seconds=12.0)


LAPSE = replace(
    EMPTY,
    signs=(sign("pivot_shift", Reading.MISSED), sign("effusion_sweep", Reading.RIGHT, abnormal=False)),
    habits=(HabitFact(habit="both_knees", kept=False, share=0.25),),
    beliefs=(
        BeliefFact(lesion="acl_tear", believed=0.7, present=True),
        BeliefFact(lesion="mcl_tear", believed=None, present=True),
    ),
)


def remembered(facts: RunFacts, *, days_ago: int = 3, who: Learner | None = None) -> int:
    """Keep a debriefed run of somebody, else of the clinician at this machine."""
    who, at = who or local_clinician("any"), LONG_AGO - timedelta(days=days_ago)
    run = begin_run(who, Recipe(seed=4, curriculum="first"), Terms(minutes=facts.minutes), now=at)
    add_events(who, run, [{"id": f"kept-for-the-test-{run:04}", "act": "finish"}], now=at)
    keep_lesson(who, run, Lesson(topic=Topic.BOTH_KNEES), brier=0.31, log_bits=1.0, now=at)
    keep_facts(who, run, facts, now=at)
    return run


def rows(client: Client) -> list[dict[str, str]]:
    """The file, read back."""
    answer = client.get("/practice/record/record.csv")
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert answer.content.startswith(BOM_UTF8)  # or spreadsheets spoil the letters of names
    return list(csv.DictReader(StringIO(answer.content.decode("utf-8-sig"), newline="")))


def test_before_the_first_debrief_there_is_nothing(client: Client) -> None:
    """Without a debriefed run the page says so and leads to a patient; the file has its names alone."""
    page = client.get("/practice/record/").content.decode()
    assert "begins with the first debrief" in page
    assert "What comes again" not in page
    assert rows(client) == []
    assert client.get("/practice/record/record.csv").content.decode("utf-8-sig").strip() == ",".join(NAMES)


def test_a_debrief_adds_to_the_record_once(client: Client) -> None:
    """What a run showed counts when its debrief is first read, and no more when it is read again."""
    run = str(client.post("/practice/", CHOSEN).headers["Location"])
    number = run.split("/")[3]
    events: list[dict[str, Any]] = [
        {"act": "do", "sign": "exposure"},
        {"act": "do", "sign": "effusion_sweep", "side": "right"},
        {"act": "record", "sign": "effusion_sweep", "side": "right", "level": _normal("effusion_sweep")},
        {"act": "believe", "beliefs": [["acl_tear", 0.6]]},
        {"act": "finish"},
    ]
    keyed = [{"id": f"made-for-the-record-{at}", **each} for at, each in enumerate(events)]
    sent = client.post(
        f"/api/practice/{number}/events", json.dumps({"events": keyed}), content_type="application/json"
    )
    assert {each["outcome"] for each in sent.json()["results"]} == {"saved"}
    assert f"run {number}" in client.get("/practice/record/").content.decode(), "finished, not debriefed"
    for _ in range(2):
        assert client.get(f"{run}debrief/").status_code == 200
    assert PracticeOutcome.objects.count() == 1
    page = unescape(client.get("/practice/record/").content.decode())
    assert "1 debriefed run." in page
    assert "Too little to tell yet" in page
    beliefs = {each["about"]: each for each in rows(client) if each["fact"] == "belief"}
    assert beliefs["acl_tear"]["believed"] == "0.6"


def _normal(name: str) -> str:
    return levels_of(load_protocol().sign(name))[0]


def test_the_record_tells_signs_habits_runs_and_what_is_due(client: Client) -> None:
    """Readings stand as counts while they are few and as rates with an interval once they are enough."""
    for days_ago in (9, 7, 5, 3, 1):
        remembered(LAPSE, days_ago=days_ago)
    page = unescape(client.get("/practice/record/").content.decode())
    assert "5 debriefed runs" in page
    assert "0% (0% to 43%), 0 of 5" in page, "Wilson's interval of 0 of 5 (scipy: 0 to 0.4345)"
    assert "100% (57% to 100%), 5 of 5" in page
    assert "Too little to tell yet: 5 of the 20" in page
    assert "5 lesions that were there were not named." in page
    assert "missed 5 of 5" in page
    assert "Do every sign on both knees" in page
    assert page.count('<circle cx="') == 2 * 5, "two quantities were known in each of five runs"


def test_many_beliefs_are_taken_apart(client: Client) -> None:
    """From twenty probabilities on, the page says how far sureness and truth lie apart."""
    wrong = (BeliefFact(lesion="acl_tear", believed=0.9, present=False),)
    for days_ago in range(1, 21):
        remembered(replace(EMPTY, beliefs=wrong), days_ago=days_ago)
    page = unescape(client.get("/practice/record/").content.decode())
    assert "surer than right, by 90%" in page
    assert "Brier score 0.810" in page


def test_the_file_holds_every_fact(client: Client) -> None:
    """Each sign, habit, belief and lesson is a row; what is not known is empty; columns are told."""
    run = remembered(LAPSE)
    found = rows(client)
    assert [(each["fact"], each["about"], each["outcome"]) for each in found] == [
        ("sign", "pivot_shift", "missed"),
        ("sign", "effusion_sweep", "right"),
        ("habit", "both_knees", "not_kept"),
        ("belief", "acl_tear", ""),
        ("belief", "mcl_tear", ""),
        ("lesson", "", "both_knees"),
    ]
    first, _, habit, named, unnamed, _ = found
    assert (first["run"], first["run_seconds"], first["showed"], first["at_s"]) == (
        str(run),
        "425",
        "yes",
        "61.5",
    )
    assert (habit["share"], named["believed"], named["there"]) == ("0.25", "0.7", "yes")
    assert unnamed["believed"] == ""
    page = client.get("/practice/record/").content.decode()
    assert all(f"<code>{name}</code>" in page for name in NAMES)


@pytest.mark.parametrize("begin", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_no_text_of_the_file_is_a_formula(begin: str) -> None:
    """Text that a spreadsheet would compute is marked (OWASP, CSV injection); numbers stay numbers."""
    text = f"{begin}1+cmd"
    ((name, number),) = list(csv.reader(StringIO(table(["a", "b"], [[text, -1.5]]), newline="")))[1:]
    assert (name, number) == (f"'{text}", "-1.5")


def test_a_run_can_begin_with_what_is_due(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page offers what is due; of the patients called in for it most show it, as three in four should."""
    seeds = iter(range(0, 12_000, 1000))
    monkeypatch.setattr(secrets, "randbelow", lambda _: next(seeds))
    assert "Due for you" not in client.get("/practice/").content.decode()
    remembered(LAPSE)
    page = client.get("/practice/").content.decode()
    assert "Due for you" in page
    assert "Pivot shift" in page
    for _ in range(12):
        answer = client.post("/practice/", CHOSEN | {"due": "yes"})
        assert answer.status_code == 302
        assert "pivot" not in answer.headers["Location"]
        client.post(answer.headers["Location"], {"id": secrets.token_hex(8), "event": '{"act": "finish"}'})
    recipes = [read_recipe(each.recipe) for each in PracticeRun.objects.order_by("-id")[:12]]
    assert {each.curriculum for each in recipes} == {"ligaments"}
    patients = [draw_patient(each) for each in recipes]
    shows = sum(each.outcomes["pivot_shift", each.person.side].level > 0 for each in patients)
    assert shows >= 5, (
        "three in four are looked for; by chance less than one in ten runs of the test has fewer"
    )


def test_a_record_is_nobody_elses(demo: Client) -> None:
    """Whoever else asks, whatever their roles, is shown their own record, which is empty."""
    remembered(LAPSE)
    assert past_runs(local_clinician("any")).read != ()
    open_account("all", password=PHRASE, roles=list(Role))
    demo.force_login(Account.objects.get(name="all"))
    assert "begins with the first debrief" in demo.get("/practice/record/").content.decode()
    assert rows(demo) == []
