import re
from datetime import datetime
from pathlib import Path

import pytest
from django.test import Client

from fabella.store import Actor, Role
from fabella.store.clinic.models import Entry, Patient, Signature, Visit
from fabella.store.clinic.verifying import verify
from fabella.store.exams.codes import Kind
from fabella.store.exams.sheets import all_sheets
from fabella.web.demo.clinic import fill_when_empty, people_of_the_demo
from fabella.web.demo.examining import examine_when_nobody_did
from fabella.web.demo.looking_inside import KNEES
from fabella.web.visitor import local_clinician

CHECKER = Actor(name="check", shown="", roles=frozenset({Role.ADMINISTRATOR}), service="", device="")
PEOPLE = people_of_the_demo()
VISITS = [visit for person in PEOPLE for visit in person["visit"]]


@pytest.mark.usefixtures("demo")
def test_everybody_in_the_invented_clinic_is_marked_as_invented() -> None:
    """About eight people with several visits, all plainly invented, in a store whose trail is whole."""
    assert set(Patient.objects.values_list("origin", flat=True)) == {"invented"}
    assert (Patient.objects.count(), Visit.objects.count()) == (len(PEOPLE) + KNEES, len(VISITS) + KNEES)
    assert len(PEOPLE) == 8
    signed = sum("signed" in visit for visit in VISITS) + 1  # one was amended
    assert Signature.objects.count() == signed + KNEES
    assert verify(CHECKER).faults == ()


def test_the_invented_clinic_shows_what_the_program_does(demo: Client) -> None:
    """Something there cannot wait, something is in dispute, something was amended, something unfinished."""
    pages = [demo.get(f"/visits/{each.id}/").content.decode() for each in Visit.objects.all()]
    assert sum("Cannot wait" in page for page in pages) >= 3
    assert sum("Two entries disagree" in page for page in pages) == 1
    assert sum("signed/2/" in page for page in pages) == 1
    assert "Earlier, and not signed" in demo.get("/").content.decode()


@pytest.mark.usefixtures("demo")
def test_the_clinic_is_not_filled_twice() -> None:
    """A second start with the same folder adds nothing."""
    before = Entry.objects.count()
    fill_when_empty()
    assert Entry.objects.count() == before


def test_a_letter_about_an_invented_person_says_so(demo: Client) -> None:
    """No letter of the invented clinic can be taken for a real one."""
    number = Signature.objects.first()
    assert number is not None
    assert "INVENTED PATIENT: NOT FOR CLINICAL USE" in number.letter
    assert demo.get("/visits/9/letter/").content.decode().count("not for clinical use") == 1


def test_every_address_is_documented_with_who_may_enter() -> None:
    """The table of addresses has every page, at its address, for whom it is."""
    from tests.web.walking import routes  # noqa: PLC0415

    text = (Path(__file__).parents[2] / "docs" / "pages.md").read_text("utf-8")
    told = dict(re.findall(r"^\| `(\w+)` \| `[^`]+` \| ([^|]+) \|$", text, re.MULTILINE))
    said = {None: "everybody", frozenset(Role): "everybody known"}
    codes = {Kind.EXAMINER: "an examiner's code", Kind.CANDIDATE: "a candidate's code"}
    expected = {}
    for route in routes():
        assert route.entrance is not None
        by_code = codes[route.entrance.exam] if route.entrance.exam else ""
        expected[route.name] = by_code or said.get(route.roles) or ", ".join(sorted(route.roles or ()))
    assert told == expected


@pytest.mark.parametrize("clock", ["00:01", "00:40", "01:20", "12:00", "22:30", "23:59"])
def test_the_invented_exam_goes_on_at_every_hour(client: Client, clock: str) -> None:
    """Its rounds stay within the day, nothing is marked before it happens, the last round not at all."""
    now = datetime.fromisoformat(f"2026-05-04T{clock}").astimezone()
    lead = local_clinician("any")
    examine_when_nobody_did(lead, now=now)
    stops = [(each.planned.stop, each.sheet) for each in all_sheets(lead, 1) if each.planned]
    judged = [stop for stop, sheet in stops if not sheet.is_blank]
    assert judged
    assert all(stop.begins_min <= now.hour * 60 + now.minute for stop in judged)
    assert all(0 <= stop.begins_min and stop.ends_min <= 24 * 60 for stop, _ in stops)
    latest = max(stop.begins_min for stop, _ in stops)
    assert all(sheet.is_blank for stop, sheet in stops if stop.begins_min == latest)  # left to whoever tries
    for page in ("/exams/1/", "/exams/1/watch/", "/exams/1/watch/look_and_gait/C01/Quill/"):
        assert client.get(page).status_code == 200
