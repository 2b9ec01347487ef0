"""What a clinician does in the course of a day, page by page, without any script."""

import re
from io import BytesIO

import pytest
from django.test import Client
from pypdf import PdfReader

from fabella.store.clinic.models import Visit
from tests.web.clinic import add, begin, bring, sign, text_of


@pytest.mark.parametrize(
    "typed", [{"complaint": "both"}, {"complaint": "none"}, {"setting": "emergency"}, {}], ids=str
)
def test_a_visit_begun_twice_is_one_until_something_is_added(client: Client, typed: dict[str, str]) -> None:
    """A button pressed twice leads to the same visit; other details, or one with a finding, to another."""
    patient = add(client)

    def begun(**others: str) -> str:
        return str(client.post(patient, {**typed, "day": "", **others}).headers["Location"])

    first = begun()
    assert begun() == first
    assert begun(complaint="left") != first
    assert begun(day="2026-01-02") not in {first, begun(complaint="left")}
    assert bring(client, first.removesuffix("examine/"), base=str(len(typed))).status_code == 302
    second = begun()
    assert second != first
    assert begun() == second
    assert Visit.objects.count() == 4


def test_the_setting_of_a_first_visit_is_proposed_as_the_clinicians_last(client: Client) -> None:
    """Nothing before there is one; then where the last one was; a patient's own last visit goes first."""

    def proposed(patient: str) -> str:
        chosen = re.findall(r'name="setting" value="(\w*)" checked', client.get(patient).content.decode())
        assert len(chosen) == 1
        return str(chosen[0])

    first, second, third = (add(client, number=f"K-{each}") for each in range(3))
    assert proposed(first) == ""
    client.post(first, {"complaint": "right", "setting": "sports_clinic", "day": ""})
    assert proposed(second) == "sports_clinic"
    assert "as at your last visit" in text_of(client.get(second))
    client.post(second, {"complaint": "left", "setting": "emergency", "day": ""})
    assert [proposed(each) for each in (first, second, third)] == ["sports_clinic", "emergency", "emergency"]


def test_the_empty_start_explains_itself(client: Client) -> None:
    """With nobody in the clinic the start says what to do, and where the help is."""
    start = text_of(client.get("/"))
    assert "Nobody here yet" in start
    assert "Add the first patient" in start


def test_from_a_new_patient_to_a_signed_letter(client: Client, visit: str) -> None:
    """Add, begin, examine, read, sign: each page leads to the next, and the letter is what was read."""
    page = text_of(client.get(visit))
    assert "anterior cruciate ligament tear" in page
    assert "Cannot wait" in page
    to_sign = client.get(f"{visit}sign/").content.decode()
    answer = sign(client, visit)
    assert answer.headers["Location"] == f"{visit}signed/1/"
    signed = client.get(f"{visit}signed/1/").content.decode()
    letters = [re.search(r"<pre[^>]*>(.*?)</pre>", each, re.DOTALL) for each in (to_sign, signed)]
    read, kept = (found[1].strip() for found in letters if found)
    told, line = re.subn(r"\n\nSigned by [^\n]+, \d\d:\d\d\.", "", kept)
    assert (told.replace("To: Dr Made Up\n", ""), line) == (read, 1)
    pdf = client.get(f"{visit}signed/1/letter.pdf")
    assert pdf.headers["Content-Type"] == "application/pdf"
    words = PdfReader(BytesIO(pdf.content)).pages[0].extract_text()
    assert "Dr Made Up" in words
    assert "To: Dr Made Up" in client.get(f"{visit}signed/1/letter.txt").content.decode()


def test_signing_twice_leads_to_the_one_signature(client: Client, visit: str) -> None:
    """A button pressed twice shows what was signed; what was read at another version is refused."""
    assert [sign(client, visit).headers["Location"] for _ in range(2)] == [f"{visit}signed/1/"] * 2
    assert client.post(f"{visit}sign/", {"version": "2", "addressee": ""}).status_code == 409


def test_a_signed_visit_is_amended_with_a_reason(client: Client, visit: str) -> None:
    """Without a reason nothing happens; with one the visit opens again and says why."""
    sign(client, visit)
    assert "Amend" in text_of(client.get(visit))
    refused = client.post(f"{visit}amend/", {"reason": " "})
    assert (refused.status_code, "Is missing" in refused.content.decode()) == (400, True)
    assert client.post(f"{visit}amend/", {"reason": "Felt again"}).status_code == 302
    assert "Opened again: Felt again" in text_of(client.get(visit))
    assert sign(client, visit).headers["Location"] == f"{visit}signed/2/"
    assert client.get(f"{visit}signed/1/").status_code == 200


def test_what_cannot_be_signed_says_why(client: Client) -> None:
    """A visit without findings shows what is missing instead of a letter, and refuses to be signed."""
    visit = begin(client, add(client))
    assert "nothing that was examined" in text_of(client.get(f"{visit}sign/"))
    refused = client.post(f"{visit}sign/", {"version": "2", "addressee": ""})
    assert (refused.status_code, "nothing that was examined" in refused.content.decode()) == (400, True)


def test_signing_what_has_moved_on_is_refused(client: Client, visit: str) -> None:
    """A form that shows an earlier version than the present one signs nothing."""
    answer = client.post(f"{visit}sign/", {"version": "2", "addressee": ""})
    assert (answer.status_code, "Something was written" in answer.content.decode()) == (409, True)


def test_wrong_details_come_back_as_typed(client: Client) -> None:
    """What was typed stays in the form, with what is wrong beside each field."""
    answer = client.post("/patients/new/", {"number": "K-9", "label": "", "birth_date": "2999-01-01"})
    page = answer.content.decode()
    assert answer.status_code == 400
    assert 'value="K-9"' in page
    assert page.count('aria-invalid="true"') == 2
    assert "Is missing; write up to 200 characters" in page


def test_a_taken_number_is_said_at_the_number(client: Client) -> None:
    """A second patient with the same number is refused at that field."""
    add(client)
    answer = client.post("/patients/new/", {"number": "K-1", "label": "Another Invented"})
    assert (answer.status_code, "Is the number of another patient" in answer.content.decode()) == (400, True)


def test_patients_are_found_and_corrected(client: Client) -> None:
    """A patient is found by a part of the label, and a correction shows everywhere."""
    patient = add(client)
    assert "Ida Invented" in text_of(client.get("/patients/", {"q": "ida"}))
    assert "Nobody’s number or name holds “xyz”" in text_of(client.get("/patients/", {"q": "xyz"}))
    assert 'value="Ida Invented"' in client.get(f"{patient}details/").content.decode()
    client.post(f"{patient}details/", {"number": "K-1", "label": "Ida Corrected"})
    assert "Ida Corrected" in text_of(client.get(patient))
    assert "label “Ida Invented”" in text_of(client.get(f"{patient}trail/"))


def test_names_are_never_read_as_markup(client: Client) -> None:
    """A label that looks like a script is shown as it was typed, on every page that shows it."""
    label = "<script>alert(1)</script>"
    patient = add(client, label=label)
    visit = begin(client, patient)
    for address in (
        "/",
        "/patients/",
        patient,
        f"{patient}trail/",
        f"{patient}details/",
        visit,
        f"{visit}letter/",
    ):
        page = client.get(address).content.decode()
        assert label not in page, address
        assert "&lt;script&gt;" in page, address


def test_today_shows_todays_visits(client: Client) -> None:
    """A visit that has begun stands on today's list and on the list of its day."""
    begin(client, add(client))
    day = Visit.objects.get().day.isoformat()
    for address in ("/", f"/days/{day}/"):
        assert "Ida Invented" in text_of(client.get(address))
    assert "No visit on this day" in text_of(client.get("/days/2001-01-01/"))
    assert client.get("/days/soon/").status_code == 404


def test_a_file_brought_twice_is_kept_once(client: Client, visit: str) -> None:
    """The same file sent again changes nothing; a wrong file is refused with its problems."""
    version = Visit.objects.get().version
    assert bring(client, visit).status_code == 302
    assert Visit.objects.get().version == version
    answer = client.post(f"{visit}bring/", {"base": "2", "text": '{"format": "fabella.examination/1"}'})
    assert (answer.status_code, "id: is missing" in answer.content.decode()) == (400, True)


def test_what_is_not_examined_is_never_shown_as_normal(client: Client) -> None:
    """A sign stated on one knee only is "not examined" on the other."""
    visit = begin(client, add(client))
    operation = (
        '{"operations": [{"id": "one-side-only-0001", "base": 2, "change": "set_finding", '
        '"finding": {"sign": "lachman", "side": "right", "state": "abnormal", "level": "2+"}}]}'
    )
    client.post(f"/api{visit.rstrip('/')}/operations", operation, content_type="application/json")
    row = re.search(
        r'<td class="right">(?:(?!</tr>).)*Lachman test.*?</tr>',
        client.get(visit).content.decode(),
        re.DOTALL,
    )
    assert row is not None
    assert re.findall(r'class="cell (\w+)"', row[0]) == ["abnormal", "not_examined"]


def test_what_a_visit_comes_to_is_read_before_the_details(client: Client, visit: str) -> None:
    """For eyes, fingers and ears the conclusion comes first, and only then each finding."""
    page = client.get(visit).content.decode()
    assert page.index('id="comes-title"') < page.index('id="found-title"')


def test_two_who_disagree_are_told_and_settle_it(demo: Client) -> None:
    """The invented clinic holds a disagreement; saying what holds ends it, and lets it be signed."""
    page = demo.get("/visits/9/").content.decode()
    assert "Two entries disagree" in page
    fields = dict(re.findall(r'name="(part|name|side|seen)" value="([^"]*)"', page))
    choices = re.findall(r'name="version" value="(\d+)"', page)
    assert len(choices) == 2
    assert "disabled" in demo.get("/visits/9/sign/").content.decode()
    assert demo.post("/visits/9/settle/", {**fields, "version": choices[1]}).status_code == 302
    assert "Two entries disagree" not in demo.get("/visits/9/").content.decode()
    again = demo.post("/visits/9/settle/", {**fields, "version": choices[1]})
    assert again.status_code == 404


def test_the_patients_page_of_a_visit_is_plain(demo: Client) -> None:
    """The patient's page and the letter are drafts until the visit is signed, and say so."""
    for address in ("/visits/9/letter/", "/visits/9/summary/"):
        assert "Not signed" in text_of(demo.get(address))
        signed = demo.get(address.replace("9", "1", 1)).headers["Location"]
        assert signed.startswith("/visits/1/signed/1/")
    assert "Not signed" not in text_of(demo.get("/visits/1/signed/1/"))


def test_the_trail_is_checked_on_the_page(demo: Client) -> None:
    """Whoever keeps the accounts sees that the trail is whole, with the hash to keep elsewhere."""
    assert "Whole:" in text_of(demo.post("/administration/"))


def test_help_shows_the_whole_routine_examination(client: Client) -> None:
    """The help is the protocol itself: every routine sign, in its position, with its technique."""
    from fabella.protocol import load_protocol  # noqa: PLC0415

    page = client.get("/help/").content.decode()
    protocol = load_protocol()
    for sign_ in protocol.signs:
        if sign_.routine and not sign_.is_summary:
            assert f">{sign_.name}</a></dt>" in page.replace("&#39;", "'"), sign_.id


@pytest.mark.parametrize(
    ("path", "marked"),
    [
        ("/", "Today"),
        ("/patients/new/", "Patients"),
        ("/visits/1/", "Patients"),
        ("/evidence/", "Evidence"),
        ("/evidence/signs/lachman/", "Evidence"),
        ("/protocol/lachman/", "Help"),
    ],
)
def test_the_menu_marks_the_part_a_page_belongs_to(client: Client, path: str, marked: str) -> None:
    """On every page one entry of the menu is marked: its own, or that of the page it hangs from."""
    if path.startswith("/visits/"):
        path = begin(client, add(client))
    page = client.get(path).content.decode()
    assert re.findall(r'<a href="[^"]*" aria-current="(?:page|true)">([^<]+)</a>', page) == [marked]


def chosen(page: str) -> list[str]:
    """What stands chosen on a page: the values of its pressed round buttons, in order."""
    return re.findall(r'type="radio" name="\w+" value="(\w*)" checked', page)


def test_a_new_visit_proposes_side_and_setting_of_the_latest(client: Client) -> None:
    """Nothing is proposed at first; later side and setting of the latest visit are, and the page says so."""
    patient = add(client)
    first = client.get(patient).content.decode()
    assert chosen(first) == ["", ""]
    assert "proposed" not in first
    client.post(patient, {"complaint": "both", "setting": "primary_care", "day": "2026-02-03"})
    client.post(patient, {"complaint": "left", "setting": "emergency", "day": "2026-01-02"})
    later = client.get(patient).content.decode()
    assert chosen(later) == ["both", "primary_care"]
    assert "proposed as at the visit of 3 February 2026. Change" in later


def test_what_lasts_is_offered_in_words_and_taken_over_by_one_press(client: Client, visit: str) -> None:
    """After a twist the next visit is offered how it came about, and knows it if that is left so."""
    patient = re.search(r'href="(/patients/[0-9]+/)"', client.get(visit).content.decode())
    assert patient
    page = client.get(patient[1])
    assert "Take over: Right knee, " in text_of(page)
    assert "after a twisting injury" in text_of(page)
    (taken,) = re.findall(r'name="take_over" value="([0-9]+)" checked', page.content.decode())
    sent = {"complaint": "right", "setting": "specialist_clinic", "day": ""}
    refused = client.post(patient[1], {**sent, "day": "2999-01-01"}).content.decode()
    assert f'name="take_over" value="{taken}"> ' in refused
    for offered, known in (({"take_over": taken}, True), ({}, False)):
        answer = client.post(patient[1], sent | offered)
        later = client.get(str(answer.headers["Location"]).removesuffix("examine/"))
        assert ("Mechanism twist" in text_of(later)) is known
    assert "Take over" not in text_of(client.get(patient[1]))  # the latest visit knows of nothing


def test_what_was_chosen_for_a_visit_stands_when_something_is_wrong(client: Client) -> None:
    """A refused form comes back as it was sent, not as at the earlier visit."""
    patient = add(client)
    begin(client, patient)
    refused = client.post(patient, {"complaint": "", "setting": "sports_clinic", "day": "2999-01-01"})
    page = refused.content.decode()
    assert (refused.status_code, chosen(page)) == (400, ["", "sports_clinic"])
    assert "proposed" not in page


def test_the_trail_names_a_second_signature(client: Client, visit: str) -> None:
    """Signed, opened again and signed anew: the trail tells the first from the second."""
    sign(client, visit)
    client.post(f"{visit}amend/", {"reason": "the dial test was done again"})
    sign(client, visit)
    patient = str(Visit.objects.get().patient_id)
    trail = text_of(client.get(f"/patients/{patient}/trail/"))
    assert "signed, for the first time" in trail
    assert "signed again, version 2" in trail
