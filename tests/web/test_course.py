"""The course of a patient, the totals of questionnaires, and the way in for a newcomer."""

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from fabella.store.clinic.models import Trace, Visit
from tests.web.clinic import add, text_of

LINES = Path(__file__).parents[2] / "examples" / "follow" / "torn_ligament.jsonl"


@pytest.fixture
def patient(client: Client) -> str:
    """The address of a patient with four visits, before and after an operation."""
    made = add(client, birth_date="2000-01-01", sex="male")
    for line in LINES.read_text("utf-8").splitlines():
        day = json.loads(line)["examined_on"]
        begun = client.post(made, {"complaint": "right", "setting": "sports_clinic", "day": day})
        visit = begun.headers["Location"].removesuffix("examine/")
        assert client.post(f"{visit}bring/", {"base": "2", "text": line}).status_code == 302
    return made


def table_of(client: Client, patient: str) -> dict[str, list[str]]:
    """The rows of the table of numbers, by what they are about."""
    page = client.get(f"{patient}course/").content.decode()
    body = page[page.index('<table class="ledger numbers"') :]
    rows = re.findall(r'<tr><th scope="row">(.*?)</th>(.*?)</tr>', body, re.DOTALL)
    return {
        name: [text_cell(cell) for cell in re.findall(r"<td[^>]*>(.*?)</td>", cells)] for name, cells in rows
    }


def text_cell(cell: str) -> str:
    """A cell as a screen reader says it."""
    return re.sub(r"<[^>]+>", "", re.sub(r'<span aria-hidden="true">.*?</span>', "", cell)).replace(
        "\u00a0", " "
    )


def add_total(client: Client, patient: str, **typed: str) -> Any:
    """Send the form of a total, by default for the latest visit."""
    visit = str(Visit.objects.order_by("-day").first().id)  # type: ignore[union-attr]
    return client.post(f"{patient}course/", {"visit": visit, "score": "oks", "side": "right", **typed})


def test_two_visits_of_one_day_have_a_column_each(client: Client) -> None:
    """What the first of them found is not lost behind what the second found, in the table nor in words."""
    made = add(client, birth_date="2000-01-01", sex="male")
    found = LINES.read_text("utf-8").splitlines()[:2]
    for line in found:
        told = {**json.loads(line), "examined_on": "2024-02-12"}
        begun = client.post(made, {"complaint": "right", "setting": "sports_clinic", "day": "2024-02-12"})
        kept = begun.headers["Location"].removesuffix("examine/")
        assert client.post(f"{kept}bring/", {"base": "2", "text": json.dumps(told)}).status_code == 302
    page = client.get(f"{made}course/").content.decode()
    head = page[page.index('<table class="ledger numbers"') :].split("</thead>")[0]
    headings = re.findall(r'<th scope="col">(.*?)</th>', head)
    assert headings[1:3] == ["12 Feb 2024, visit 1", "12 Feb 2024, visit 2"]
    assert table_of(client, made)["Passive flexion of the right knee"][:2] == ["80°", "132°"]
    assert "Passive flexion of the right knee 80 → 132 degrees" in page


def test_two_visits_of_one_day_are_told_apart_wherever_one_is_chosen(client: Client) -> None:
    """Their number of the day stands in the list, on the line in time, and where a total is added to one."""
    made = add(client, birth_date="2000-01-01", sex="male")
    for side, day in (("right", "2024-02-12"), ("left", "2024-02-12"), ("left", "2024-05-02")):
        client.post(made, {"complaint": side, "setting": "sports_clinic", "day": day})
    ids = list(Visit.objects.order_by("id").values_list("id", flat=True))
    told = ["12 February 2024, visit 1", "12 February 2024, visit 2", "2 May 2024"]
    course = client.get(f"{made}course/").content.decode()
    assert (
        re.findall(r'<option value="(\d+)">([^<]*2024[^<]*)</option>', course)
        == [(str(each), name) for each, name in zip(ids, told, strict=True)][::-1]
    )
    page = client.get(made).content.decode()
    assert re.findall(r"<li><a [^>]*>([^<]*2024[^<]*)</a>", page) == told
    assert 'aria-label="12 Feb 2024, visit 2"' in page


def test_the_course_says_and_draws_what_has_changed(client: Client, patient: str) -> None:
    """True changes in words, charts with their band, published recovery, and every drawing with its words."""
    answer = client.get(f"{patient}course/")
    page, raw = text_of(answer), answer.content.decode()
    assert "4 visits from 12 February 2024 to 4 November 2024" in page
    assert "Passive flexion of the right knee 80 → 132 → 128 → 139 degrees: a true gain" in page
    assert "after ACL reconstruction" in page
    assert "After an operation what it was done for counts as mended" in page
    assert raw.count("<figure") >= 10
    assert raw.count('role="img"') == raw.count("<figure")
    idents = re.findall(r'\bid="(chart-\d+-title)"', raw)
    assert len(idents) == len(set(idents)) == raw.count("<figure")


def test_the_table_holds_the_numbers_of_the_file(client: Client, patient: str) -> None:
    """What stands in the examinations stands in the table, visit by visit; what was not recorded says so."""
    rows = table_of(client, patient)
    assert rows["Passive flexion of the right knee"][:5] == ["80°", "132°", "128°", "139°", "truly better"]
    assert rows["Thigh girth on the right"][:4] == ["not recorded", "47.5 cm", "45.5 cm", "48 cm"]
    assert rows["Lysholm score, right knee"][1:4] == ["58", "72", "91"]
    assert rows["Anterior cruciate ligament tear, right knee"][0].startswith("9")


def test_the_course_is_one_line_of_the_trail(client: Client, patient: str) -> None:
    """Whoever looks at the course is in the trail with it."""
    client.get(f"{patient}course/")
    last = Trace.objects.order_by("-number").first()
    assert last is not None
    assert json.loads(last.detail) == {"what": "course of all visits"}
    assert "took the course of all visits" in text_of(client.get(f"{patient}trail/"))


def test_a_total_is_kept_with_its_visit(client: Client, patient: str) -> None:
    """A total that is sent stands in the table and in the examination."""
    answer = add_total(client, patient, value="41")
    assert answer.headers["Location"] == f"{patient}course/#numbers"
    assert table_of(client, patient)["Oxford Knee Score, right knee"][3] == "41"
    visit = Visit.objects.order_by("-day").first()
    assert visit is not None
    file = json.loads(client.get(f"/visits/{visit.id}/examination.json").content)
    assert {"score": "oks", "value": 41, "side": "right"} in file["totals"]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"value": "49"}, "Is too high; allowed: 0 to 48 points"),
        ({"value": "many"}, "Is no number; write the points of the total"),
        ({"value": "3", "score": "oxford"}, "Is not known here"),
    ],
)
def test_a_wrong_total_comes_back_with_what_is_wrong(
    client: Client, patient: str, typed: dict[str, str], says: str
) -> None:
    """Nothing is kept, the form comes back as typed, and the problem stands at its field."""
    answer = add_total(client, patient, **typed)
    page = answer.content.decode()
    assert (answer.status_code, says in page) == (400, True)
    assert f'value="{typed["value"]}"' in page
    assert "Oxford Knee Score, right knee" not in table_of(client, patient)


@pytest.mark.usefixtures("patient")
def test_a_total_of_another_patients_visit_is_refused(client: Client) -> None:
    """A visit that is not this patient's takes no total from this page."""
    other = add(client, number="K-2", label="Otto Invented")
    visit = str(Visit.objects.order_by("-day").first().id)  # type: ignore[union-attr]
    answer = client.post(f"{other}course/", {"visit": visit, "score": "oks", "side": "", "value": "3"})
    assert answer.status_code == 400


def test_a_patient_without_findings_has_no_course_yet(client: Client) -> None:
    """The page says so, and does not draw what nobody examined."""
    made = add(client)
    client.post(made, {"complaint": "right", "setting": "", "day": date(2025, 1, 1).isoformat()})
    page = text_of(client.get(f"{made}course/"))
    assert "Nothing was recorded yet that could be followed" in page


def test_a_knee_that_was_not_examined_has_no_probability(client: Client) -> None:
    """With findings on the right knee only nothing is said about the left one."""
    made = add(client)
    begun = client.post(made, {"complaint": "right", "setting": "emergency", "day": "2025-01-01"})
    visit = begun.headers["Location"].removesuffix("examine/")
    lax = {"id": "lax-on-the-right-1", "base": 2, "change": "set_finding",
           "finding": {"sign": "lachman", "side": "right", "state": "abnormal", "level": "3+"}}  # fmt: skip
    client.post(f"/api{visit}operations", {"operations": [lax]}, content_type="application/json")
    names = list(table_of(client, made))
    assert any("right knee" in name for name in names)
    assert not any("left knee" in name for name in names)


def test_a_newcomer_is_led_through_the_invented_clinic(demo: Client) -> None:
    """Every step leads to a page that is there."""
    page = demo.get("/help/first/").content.decode()
    steps = page[page.index('<ol class="walk">') : page.index("</ol>")]
    links = re.findall(r'href="([^"]+)"', steps)
    assert len(links) >= 8
    assert {demo.get(link).status_code for link in links} == {200}
    assert "/help/first/" in demo.get("/").content.decode()


def test_without_invented_people_the_same_is_told_in_words(client: Client) -> None:
    """The steps are there, none leads to a patient, and it is said how to get an invented clinic."""
    page = client.get("/help/first/").content.decode()
    steps = page[page.index('<ol class="walk">') : page.index("</ol>")]
    assert (steps.count("<h2>"), "href=" in steps) == (8, False)
    assert "fabella serve --demo" in page
    assert "/help/first/" in client.get("/").content.decode()
