"""What has changed since the visit before, on the pages: read, signed, sent, and as the course tells it."""

import html
import json
import re
from pathlib import Path

import pytest
from django.test import Client

from fabella.store.clinic.models import Visit
from tests.web.clinic import add, text_of

LINES = (Path(__file__).parents[2] / "examples" / "follow" / "torn_ligament.jsonl").read_text("utf-8")


@pytest.fixture
def visits(client: Client) -> list[str]:
    """The addresses of three visits of one patient, nothing signed."""
    patient = add(client, birth_date="2000-01-01", sex="male")
    made = []
    for line in LINES.splitlines()[1:]:
        day = json.loads(line)["examined_on"]
        begun = client.post(patient, {"complaint": "right", "setting": "sports_clinic", "day": day})
        visit = begun.headers["Location"].removesuffix("examine/")
        assert client.post(f"{visit}bring/", {"base": "2", "text": line}).status_code == 302
        made.append(visit)
    return made


def form_of(client: Client, visit: str) -> dict[str, str]:
    """What the page to sign would send."""
    page = client.get(f"{visit}sign/").content.decode()
    fields = re.findall(r'<input type="hidden" name="(version|earlier|patient|today)" value="([^"]*)"', page)
    return dict(fields)


def sign(client: Client, visit: str) -> None:
    """Sign a visit as its page shows it."""
    answer = client.post(f"{visit}sign/", form_of(client, visit))
    assert answer.status_code == 302


def test_a_later_letter_says_what_the_course_says(client: Client, visits: list[str]) -> None:
    """On letter, page to sign, signed page, plain text and FHIR; by the values of the course."""
    for visit in visits[:2]:
        sign(client, visit)
    gain = "Passive extension of the right knee 4° short of straight → 2° hyperextension"
    patient = Visit.objects.get(pk=int(visits[2].strip("/").split("/")[-1])).patient_id
    course = html.unescape(text_of(client.get(f"/patients/{patient}/course/")))
    assert "4° short of straight → 2° hyperextension" in course
    for address in ("letter/", "sign/", "letter-not-signed.txt"):
        told = " ".join(html.unescape(client.get(f"{visits[2]}{address}").content.decode()).split())
        assert gain in told, address
    tree = json.loads(client.get(f"{visits[2]}not-signed.fhir.json").content)
    sections = {each["title"]: each for each in tree["entry"][0]["resource"]["section"]}
    assert gain in html.unescape(sections["Since 22 July 2024"]["text"]["div"])
    assert "That was before the operation." in sections["Since 8 April 2024"]["text"]["div"]
    page = text_of(client.get(f"{visits[2]}summary/"))
    assert "Since we saw you on 22 July 2024" in page
    assert "You can get your right knee straighter." in page
    sign(client, visits[2])
    assert gain in html.unescape(text_of(client.get(f"{visits[2]}signed/1/")))
    assert "it is what was signed, to the last character" in text_of(
        client.get(f"{visits[2]}signed/1/again/")
    )


def test_a_first_visit_says_nothing_of_changes(client: Client, visits: list[str]) -> None:
    """Nor does a later one while nobody has signed the first."""
    for visit in visits:
        assert "SINCE" not in client.get(f"{visit}letter-not-signed.txt").content.decode()
        assert form_of(client, visit)["earlier"] == ""


def test_it_is_said_when_the_visit_before_is_not_signed(client: Client, visits: list[str]) -> None:
    """On letter, patient's page and page to sign, as long as it is so; a first visit has none before it."""
    for part in ("letter/", "summary/", "sign/"):
        said = "Nothing is said of what has changed since {}: that visit is not signed."
        assert said.format("22 July 2024") in text_of(client.get(f"{visits[2]}{part}"))
        assert "that visit is not signed" not in text_of(client.get(f"{visits[0]}{part}"))
    sign(client, visits[0])
    assert "since 22 July 2024: that visit" in text_of(client.get(f"{visits[2]}letter/"))
    sign(client, visits[1])
    assert "that visit is not signed" not in text_of(client.get(f"{visits[2]}letter/"))


def test_what_was_not_read_is_not_signed(client: Client, visits: list[str]) -> None:
    """An earlier visit is signed, the patient corrected, or a day begun: it is said, and read again first."""
    form = form_of(client, visits[2])
    sign(client, visits[1])
    refused = client.post(f"{visits[2]}sign/", form)
    assert refused.status_code == 409
    assert "An earlier visit was signed since you read this letter." in refused.content.decode()
    assert client.post(f"{visits[2]}sign/", {"version": form["version"]}).status_code == 409
    form = form_of(client, visits[2])
    patient = Visit.objects.get(pk=int(visits[2].strip("/").split("/")[-1])).patient
    client.post(f"/patients/{patient.pk}/details/", {"number": patient.number, "label": "Ida Corrected"})
    refused = client.post(f"{visits[2]}sign/", form)
    assert "details were corrected since you read this letter." in html.unescape(refused.content.decode())
    refused = client.post(f"{visits[2]}sign/", {**form_of(client, visits[2]), "today": "2026-01-02"})
    assert refused.status_code == 409
    assert "A new day has begun since you read this letter" in refused.content.decode()
    sign(client, visits[2])
    signed = client.get(f"{visits[2]}signed/1/letter.txt").content.decode()
    assert "SINCE 22 JULY 2024" in signed


@pytest.fixture
def told_once(client: Client) -> tuple[str, list[str]]:
    """A patient and four visits, of which the second alone tells a torn ligament; the first three signed."""
    patient = add(client, birth_date="2000-01-01", sex="male")
    torn = json.loads(LINES.splitlines()[1])
    days = ("2025-01-06", "2025-01-20", "2025-02-03", "2025-02-17")
    made = []
    for day, acuity, level, end in zip(
        days, ("acute", "acute", "subacute", "subacute"), ("1+", "3+", "1+", "1+"), (0, 1, 0, 0), strict=True
    ):
        graded = [
            {"sign": "lachman", "side": "right", "state": "abnormal", "level": level},
            {"sign": "lachman_end_point", "side": "right", "state": ("normal", "abnormal")[end]},
            {"sign": "effusion", "side": "right", "state": ("normal", "abnormal")[end]},
        ]
        context = {"setting": "sports_clinic", "acuity": acuity, "complaint": ["right"]}
        text = json.dumps({**torn, "examined_on": day, "context": context, "findings": graded, "history": {}})
        begun = client.post(patient, {"complaint": "right", "setting": "sports_clinic", "day": day})
        visit = begun.headers["Location"].removesuffix("examine/")
        assert client.post(f"{visit}bring/", {"base": "2", "text": text}).status_code == 302
        made.append(visit)
    for visit in made[:3]:
        sign(client, visit)
    return patient, made


def test_what_an_earlier_visit_told_is_said_by_letter_and_course_and_kept(
    client: Client, told_once: tuple[str, list[str]]
) -> None:
    """With both numbers on every page that shows the letter, as signed, and made again from what was kept.

    Also where the visit that told it is neither the one before nor the first with the complaint.
    """
    patient, made = told_once
    said = "anterior cruciate ligament tear, right knee: "
    chart = html.unescape(text_of(client.get(f"{patient}course/")))
    assert said in chart.lower()
    assert "on 20 January 2025 (for it: " in chart
    for address in ("letter/", "sign/", "letter-not-signed.txt", "not-signed.fhir.json"):
        told = " ".join(html.unescape(client.get(f"{made[3]}{address}").content.decode()).split())
        assert said in told.lower(), address
        assert "on 20 January 2025 (for it: " in told, address
    assert "so we go by both" in text_of(client.get(f"{made[3]}summary/"))
    sign(client, made[3])
    assert "on 20 January 2025 (for it: " in text_of(client.get(f"{made[3]}signed/1/"))
    again = text_of(client.get(f"{made[3]}signed/1/again/"))
    assert again.count("it is what was signed, to the last character") >= 1
    assert "differ" not in again.partition("to the last character")[0]


def part_of(client: Client, address: str) -> str:
    """What a page says to whoever reads it, on one line."""
    return " ".join(html.unescape(text_of(client.get(address))).split()).replace("\u00a0", " ")


def test_an_open_visit_says_what_an_earlier_one_told_while_the_patient_is_there(
    client: Client, told_once: tuple[str, list[str]]
) -> None:
    """Beside the examination and on the page of the visit, in the numbers and words of the letter."""
    _, made = told_once
    letter = part_of(client, f"{made[3]}letter/")
    told = re.search(r"knee: (\S+) on 20 January 2025 \(for it: [^)]*\), (\S+) on 17 February 2025", letter)
    assert told is not None
    for address in ("comes-to/earlier/", "", "now/"):
        page = part_of(client, f"{made[3]}{address}")
        assert "Weigh both visits" in page, address
        gist = (
            f"Anterior cruciate ligament tear, right knee : {told[1]} on 20 January 2025, {told[2]} so far."
        )
        assert gist.replace(" :", ":") in page.replace(" :", ":"), address
        assert "Weigh both, or image the knee." in page, address
        assert "one examination does not undo the other" in page, address
    asked = 'data-earlier="/visits/4/comes-to/earlier/"'
    assert asked in client.get(f"{made[3]}comes-to/").content.decode()
    assert asked not in client.get(f"{made[3]}comes-to/?hidden=yes").content.decode()


def test_what_told_it_then_and_was_not_looked_at_is_asked_for(
    client: Client, told_once: tuple[str, list[str]]
) -> None:
    """While the examination goes on, by its name; not once it was looked at, whatever it showed."""
    patient, made = told_once
    sign(client, made[3])
    begun = client.post(patient, {"complaint": "right", "setting": "sports_clinic", "day": "2025-03-03"})
    visit = begun.headers["Location"].removesuffix("examine/")

    def find(name: str, sign_id: str, **state: str) -> str:
        finding = {"sign": sign_id, "side": "right", **state}
        change = {"id": f"found-by-hand-{name}", "base": 2, "change": "set_finding", "finding": finding}
        client.post(f"/api{visit}operations", {"operations": [change]}, content_type="application/json")
        return part_of(client, f"{visit}comes-to/earlier/")

    page = part_of(client, f"{visit}comes-to/earlier/")  # nothing was examined yet
    assert re.search(r"on 20 January 2025, \S+ on 17 February 2025\. ", page)
    assert "so far" not in page
    page = find("effusion", "effusion", state="normal", level="none")
    assert "Not yet looked at: Lachman test and Lachman end point." in page
    page = find("lachman", "lachman", state="abnormal", level="1+")
    assert "Not yet looked at: Lachman end point." in page
    page = find("end-point", "lachman_end_point", state="untestable", reason="pain")
    assert "Weigh both visits" in page
    assert "Not yet looked at" not in page


def test_a_signed_visit_says_it_as_its_letter_does(client: Client, told_once: tuple[str, list[str]]) -> None:
    """To the letter: what is signed is not worked out anew."""
    _, made = told_once
    sign(client, made[3])
    page = part_of(client, made[3])
    assert "Weigh both visits Anterior cruciate ligament tear, right knee: " in page
    assert "on 20 January 2025 (for it: " in page
    assert "so far" not in page
    for earlier in made[:2]:
        assert "Weigh both visits" not in part_of(client, earlier)


def test_a_letter_says_which_earlier_visits_it_does_not_count(client: Client, visits: list[str]) -> None:
    """One entered late, and one corrected after it: on its visit and on the letter itself."""
    sign(client, visits[1])
    sign(client, visits[2])
    pages = (visits[2], f"{visits[2]}signed/1/")
    for page in pages:
        assert "Signed after this letter" not in part_of(client, page)
    sign(client, visits[0])
    for page in pages:
        told = part_of(client, page)
        assert "Signed after this letter: the visit of 8 April 2024." in told
        assert "does not count that; the course does." in told
    assert client.post(f"{visits[1]}amend/", {"reason": "Flexion misread"}).status_code == 302
    assert "the visit of 8 April 2024." in part_of(client, visits[2])  # nothing else is signed yet
    sign(client, visits[1])
    assert "visits of 8 April 2024 and 22 July 2024." in part_of(client, visits[2])
    assert client.post(f"{visits[2]}amend/", {"reason": "Earlier visits are complete"}).status_code == 302
    sign(client, visits[2])
    assert "Signed after this letter" not in part_of(client, visits[2])
    assert "Signed after this letter" in part_of(client, f"{visits[2]}signed/1/")
    assert "Signed after this letter" not in part_of(client, visits[0])
