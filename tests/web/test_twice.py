"""A button pressed twice, a page loaded again after it was sent: one wish, and its answer is not lost."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from django.db import connections
from django.test import Client

from fabella.store.clinic.models import Patient
from fabella.store.exams.codes import Kind, pass_by_code
from fabella.store.exams.models import Exam, ExamCode
from fabella.store.refusals import NotThere
from fabella.store.school.bench_models import PracticeClass, PracticeSet

CODES = "/exams/1/codes/examiners/"
SLIP = re.compile(r'<b>(\w+)</b> <span class="code">([\w ]+)</span>')
HOURS = {"opens": "2026-01-01T09:00", "closes": "2126-01-01T09:00"}
PATIENT = {"number": "K-777", "label": "Ida Invented", "birth_date": "1990-02-03"}


def pressed_twice(client: Client, path: str, typed: dict[str, Any]) -> list[str]:
    """Where both answers lead."""
    answers = [client.post(path, typed) for _ in range(2)]
    assert [each.status_code for each in answers] == [302, 302], answers[-1].content.decode()
    return [each.headers["Location"] for each in answers]


@pytest.mark.parametrize(
    ("kind", "path", "typed"),
    [
        (Patient, "/patients/new/", PATIENT),
        (Exam, "/exams/", {"name": "Spring", "day": "2027-03-04"}),
        (PracticeSet, "/teach/", {"name": "Spring"}),
        (PracticeClass, "/teach/sets/1/open/", {"name": "Tuesday", "minutes": "8", **HOURS}),
    ],
    ids=["patient", "exam", "set", "class"],
)
def test_what_is_made_by_a_button_pressed_twice_is_made_once(
    demo: Client, kind: Any, path: str, typed: dict[str, Any]
) -> None:
    """Both presses lead to it: the second said that the number is another patient's, or the name taken."""
    before = kind.objects.count()
    one, other = pressed_twice(demo, path, typed)
    assert one == other
    assert kind.objects.count() == before + 1


def test_a_number_that_is_another_patients_is_told_as_that(demo: Client) -> None:
    """The same number with another name or birth date is no button pressed twice."""
    demo.post("/patients/new/", PATIENT)
    for change in ({"label": "Ada Invented"}, {"birth_date": "1991-02-03"}):
        answer = demo.post("/patients/new/", PATIENT | change)
        assert answer.status_code == 400
        assert "s the number of another patient" in answer.content.decode()


def press_of(client: Client) -> str:
    """The id of the button on the page of codes."""
    found = re.search(r'name="press" value="(\w+)"', client.get(CODES).content.decode())
    assert found is not None
    return found[1]


def slips(answer: Any) -> dict[str, str]:
    """What stands on the slips of a page."""
    assert answer.status_code == 200, answer.content.decode()
    return dict(SLIP.findall(answer.content.decode()))


def test_codes_of_a_button_pressed_twice_stand_on_the_page_that_is_shown(demo: Client) -> None:
    """A browser shows the second answer; the codes on the first were lost, and nobody can look them up."""
    press = {"step": "make", "press": press_of(demo)}

    def sent(_: object) -> Any:
        try:
            return demo.post(CODES, press)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(2) as pool:
        one, other = map(slips, pool.map(sent, range(2)))
    assert one == other
    assert len(one) > 1
    for name, code in one.items():
        assert pass_by_code(code).person == name
    assert slips(demo.post(CODES, press)) == one  # loaded again


def test_another_press_makes_another_code(demo: Client) -> None:
    """For one person as for all; what was ended or made anew since is never shown again."""
    first, second = press_of(demo), press_of(demo)
    one = {"step": "make", "person": "Lantern"}
    made = slips(demo.post(CODES, {**one, "press": first}))["Lantern"]
    assert slips(demo.post(CODES, {**one, "press": first}))["Lantern"] == made
    other = slips(demo.post(CODES, {**one, "press": second}))["Lantern"]
    again = slips(demo.post(CODES, {**one, "press": first}))["Lantern"]
    assert len({made, other, again}) == 3
    demo.post(CODES, {"step": "end", "person": "Lantern"})
    last = slips(demo.post(CODES, {**one, "press": first}))["Lantern"]
    assert pass_by_code(last).kind is Kind.EXAMINER
    with pytest.raises(NotThere):
        pass_by_code(again)
    before = ExamCode.objects.count()
    for _ in range(2):  # a program that names no press
        demo.post(CODES, one)
    assert ExamCode.objects.count() == before + 2
