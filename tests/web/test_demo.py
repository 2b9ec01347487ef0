import re
from pathlib import Path

import pytest
from django.test import Client

from fabella.store import Actor, Role
from fabella.store.clinic.models import Entry, Patient, Signature, Visit
from fabella.store.clinic.verifying import verify
from fabella.store.exams.codes import Kind
from fabella.web.demo.clinic import fill_when_empty, people_of_the_demo
from fabella.web.demo.looking_inside import KNEES

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
