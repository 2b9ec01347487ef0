"""Own hands: one's own signed visits against what was found later, for oneself alone."""

import json
import re
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from django.test import Client

from fabella.cli.audit_answer import audit_tree
from fabella.hands import OwnHands
from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.store.actor import Actor
from fabella.store.clinic.models import Patient, Trace, Visit
from fabella.store.clinic.own_visits import own_visits
from fabella.store.remembered import Remembered
from fabella.web.demo.looking_inside import KNEES
from fabella.web.hands import judging
from fabella.web.hands.judging import AT_ONCE, judge
from fabella.web.hands.working_up import work_up
from fabella.web.visitor import local_clinician
from tests.cli.running import call
from tests.store.people import NOW
from tests.web.clinic import add, begin, bring, sign, text_of
from tests.web.test_door import PHRASE
from tests.web.test_found_later import MRI, TODAY, tell
from tests.web.test_since import form_of


def judged(client: Client) -> str:
    """The page of one's own hands once everything is worked up."""
    for _ in range(20):
        answer = client.post("/hands/")
        if b"data-awaited" not in answer.content:
            return text_of(answer)
    raise AssertionError("own visits were never worked up")


def hands_of(actor: Actor) -> OwnHands:
    """Own hands, once all visits are worked up."""
    while (found := judge(own_visits(actor, silent=0, now=NOW))).hands is None:
        pass
    return found.hands


def test_whoever_signed_nothing_is_told_how_it_begins(client: Client) -> None:
    """Without a signed visit the page says what to do; with one it leads to the form about it."""
    assert "You have signed no visit yet" in judged(client)
    made = begin(client, add(client))
    bring(client, made)
    sign(client, made)
    page = client.get("/hands/").content.decode()
    assert f'href="{made}found-later/"' in page
    assert "How good an examination is shows only later" in page
    assert "Brier" not in page


def test_one_knee_looked_into_is_told_as_too_few(client: Client) -> None:
    """Counts stand there from the first knee on, and no comparison before there are enough."""
    made = begin(client, add(client))
    bring(client, made)
    sign(client, made)
    tell(client, made, **MRI, **{"is-pcl_tear": "absent"})
    page = judged(client)
    assert "1 knee looked into" in page
    assert "too few to compare" in page
    assert "than published" not in page
    assert re.search(r"Lachman test for anterior cruciate ligament tear .*? 1 of 1", page)
    assert "nothing found later told yet" not in page


def test_the_invented_clinic_shows_own_hands(demo: Client) -> None:
    """Signs against published ones, what was told against what was there, surprises with their visits."""
    page = judged(demo)
    looked_into = KNEES - KNEES // 5 + 4  # every fifth never was; four of the named people were
    assert f"{looked_into} knees looked into" in page
    assert "Lachman test" in page
    assert "Brier score" in page
    raw = demo.get("/hands/").content.decode()
    visits = re.findall(r'href="(/visits/\d+/)#found-later"', raw)
    assert visits, "some lesion surprised"
    for address in visits:
        assert "Not there" in demo.get(address).content.decode()
    assert raw.count('class="whisker used"') >= 16
    assert "nothing found later told yet" in page
    assert re.findall(r">(0|50%|100%|0\.5|1)</text>", raw.partition("<tbody>")[0]) == ["0", "50%", "100%"] * 2
    assert raw.count("Sensitivity, 0 to 100%") == raw.count("Specificity, 0 to 100%") >= 8


@pytest.mark.usefixtures("demo")
def test_the_numbers_are_those_of_the_audit() -> None:
    """What the page counts is what was confirmed: each knee once, each told probability with its truth."""
    hands = hands_of(local_clinician("any"))
    assert hands.unmatched == ()
    assert hands.examinations == KNEES + 4
    assert hands.told is not None
    assert hands.told.statements == sum(each.n for each in hands.told.bins)
    lachman = next(each for each in hands.signs if each.sign == "lachman")
    assert lachman.cells.present + lachman.cells.absent + lachman.cells.untestable <= hands.confirmed


def test_a_knee_whose_scan_was_known_is_left_out(client: Client) -> None:
    """A second visit after the scan counts nothing of that knee, and the page says so."""
    patient = add(client)
    long_ago = TODAY - timedelta(days=900)
    begun = client.post(patient, {"complaint": "right", "setting": "emergency", "day": str(long_ago)})
    first = begun.headers["Location"].removesuffix("examine/")
    bring(client, first)
    sign(client, first)
    tell(client, first, **(MRI | {"on": str(long_ago + timedelta(days=9))}))
    assert "left out" not in judged(client)
    second = begin(client, patient)
    bring(client, second)
    assert client.post(f"{second}sign/", form_of(client, second)).status_code == 302
    page = judged(client)
    assert "1 visit is left out: the knee had been looked into before" in page
    assert "2 examinations; 1 knee looked into" in page


def test_nobody_sees_anothers_hands(demo: Client) -> None:
    """A colleague of the same service has hands of their own, which are empty."""
    judged(demo)
    open_account("ben", password=PHRASE, roles=[Role.CLINICIAN])
    demo.post("/login/", {"name": "ben", "password": PHRASE})
    page = text_of(demo.get("/hands/"))
    assert "You have signed no visit yet" in page
    assert "Lachman" not in page


def test_many_visits_are_worked_up_a_few_at_a_time(demo: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page says how far it is and asks again, without a script too; nothing is worked up twice."""
    monkeypatch.setattr(judging, "_kept", Remembered(judging.MOST))
    asked: list[int] = []

    def counted(signed: Any) -> Any:
        asked.append(len(signed))
        return work_up(signed)

    monkeypatch.setattr(judging, "work_up", counted)
    first = demo.get("/hands/").content.decode()
    assert f"worked up: {AT_ONCE} of {KNEES + 4}" in first
    assert "data-awaited" in first
    assert "knees looked into" in judged(demo)
    judged(demo)
    assert asked == [AT_ONCE, KNEES + 4 - AT_ONCE]


def test_own_hands_are_reached_from_the_start_and_from_a_visit(demo: Client) -> None:
    """Both pages lead there."""
    signed = Visit.objects.filter(status="signed")[0].id
    for address in ("/", f"/visits/{signed}/"):
        assert 'href="/hands/"' in demo.get(address).content.decode()


def test_own_examinations_are_taken_in_files_that_the_command_reads(demo: Client, tmp_path: Path) -> None:
    """They hold no name and no number; audited by the command they give what the page shows."""
    with ZipFile(BytesIO(demo.get("/hands/own-hands.zip").content)) as archive:
        archive.extractall(tmp_path)
    examinations, confirmed = tmp_path / "examinations.jsonl", tmp_path / "confirmed.jsonl"
    written = examinations.read_text("utf-8") + confirmed.read_text("utf-8")
    for patient in Patient.objects.all():
        assert patient.label not in written
        assert patient.number not in written
        assert str(patient.birth_date) not in written
    left = call("audit", examinations, "--confirmed", confirmed, "--json")
    shown = hands_of(local_clinician("any"))
    assert left.json == json.loads(json.dumps(audit_tree(shown)))
    assert Trace.objects.filter(detail__contains="in a file of all own ones").count() == shown.examinations
