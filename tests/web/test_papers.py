"""Letter and patient's page: edited in place without any script, read, signed, taken away, made again."""

import re
from dataclasses import replace
from html import unescape
from io import BytesIO
from typing import Any

import pytest
from django.conf import settings
from django.test import Client, override_settings
from pypdf import PdfReader

from fabella.evidence import load_edition
from fabella.record import Examination
from fabella.store.clinic.models import Entry, Trace, Visit
from fabella.web.concluding import Live, live
from fabella.web.options import Options
from tests.web.clinic import text_of


def passages(client: Client, address: str) -> dict[str, str]:
    """What the page says the program computed, by the id of each passage."""
    page = client.get(address).content.decode()
    found = re.findall(
        r'name="passage" value="([^"]+)"><input type="hidden" name="computed" value="([^"]*)"', page
    )
    return {name: unescape(computed) for name, computed in found}


def say(client: Client, address: str, passage: str, text: str, **more: str) -> Any:
    """Send the form of a passage."""
    typed = {"passage": passage, "text": text, "base": str(Visit.objects.get().version), **more}
    return client.post(address, {"computed": passages(client, address).get(passage, ""), **typed})


def sign(client: Client, visit: str) -> Any:
    """Sign a visit as it stands."""
    return client.post(f"{visit}sign/", {"version": str(Visit.objects.get().version)})


def urgent(client: Client, address: str) -> str:
    """The first passage that cannot wait."""
    return next(name for name in passages(client, address) if name.startswith("urgent-"))


def test_a_passage_is_put_in_other_words_and_back(client: Client, visit: str) -> None:
    """What is typed stands in the letter, marked as edited; one touch brings the computed words back."""
    letter = f"{visit}letter/"
    answer = say(client, letter, "plan-next", "Scan on Friday.")
    assert answer.headers["Location"] == f"{letter}#p-plan-next"
    page = text_of(client.get(letter))
    assert "Scan on Friday." in page
    assert "edited by you" in page
    assert "1 passage is in the writer’s own words." in page
    say(client, letter, "plan-next", "", restore="yes")
    assert "Scan on Friday." not in text_of(client.get(letter))
    assert [row.change for row in Entry.objects.order_by("-version")[:2]] == ["set_passage"] * 2


def test_what_is_typed_is_never_markup(client: Client, visit: str) -> None:
    """Words that look like a script are words, on the page, before signing and after."""
    say(client, f"{visit}letter/", "plan-next", "<script>alert(1)</script>")
    addresses = [f"{visit}letter/", f"{visit}sign/"]
    assert sign(client, visit).status_code == 302
    for address in (*addresses[1:], f"{visit}signed/1/"):
        page = client.get(address).content.decode()
        assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in client.get(f"{visit}signed/1/").content.decode()


def test_typing_the_computed_words_again_edits_nothing(client: Client, visit: str) -> None:
    """A form that is sent unchanged leaves the passage the program's."""
    letter = f"{visit}letter/"
    say(client, letter, "plan-next", passages(client, letter)["plan-next"])
    assert "edited by" not in text_of(client.get(letter))


def test_an_addressee_and_words_of_ones_own_are_added(client: Client, visit: str) -> None:
    """The letter is addressed on its own page, and a section can end with what the clinician adds."""
    letter = f"{visit}letter/"
    say(client, letter, "addressee", "Dr Made Up")
    say(client, letter, "plan-own", "With kind regards")
    assert 'value="Dr Made Up"' in client.get(letter).content.decode()
    assert "With kind regards" in text_of(client.get(letter))
    preview = text_of(client.get(f"{visit}sign/"))
    assert "To: Dr Made Up" in preview
    sign(client, visit)
    assert "To: Dr Made Up" in client.get(f"{visit}signed/1/letter.txt").content.decode()
    assert "Added by the clinician at this machine With kind regards" in text_of(
        client.get(f"{visit}signed/1/")
    )


def test_an_addressee_alone_is_no_changed_passage(client: Client, visit: str) -> None:
    """A letter that is only addressed is signed in the program's words, and says nothing of others."""
    say(client, f"{visit}letter/", "addressee", "Dr Made Up")
    sign(client, visit)
    signed = text_of(client.get(f"{visit}signed/1/"))
    assert "To: Dr Made Up" in signed
    assert "own words" not in signed


def test_the_letter_says_when_the_examination_changed_under_edited_words(client: Client, visit: str) -> None:
    """Both texts are shown, nothing is signed, and keeping one settles it."""
    letter = f"{visit}letter/"
    say(client, letter, "findings-right", "As discussed.")
    then = passages(client, letter)["findings-right"]
    coarse = {"sign": "crepitus", "side": "right", "state": "abnormal", "level": "coarse"}
    base = Visit.objects.get().version
    change = {"id": "changed-after-edit-1", "base": base, "change": "set_finding", "finding": coarse}
    sent = client.post(f"/api{visit}operations", {"operations": [change]}, content_type="application/json")
    assert sent.json()["results"][0]["outcome"] == "saved"
    page = text_of(client.get(letter))
    now = passages(client, letter)["findings-right"]
    assert now != then
    assert "The computed text has changed since this was edited" in page
    for words in ("As discussed.", then[:40], now[:40]):
        assert words.replace("’", "’") in page
    refused = sign(client, visit)
    assert (refused.status_code, "before the program changed" in refused.content.decode()) == (400, True)
    say(client, letter, "findings-right", "As discussed.", keep="yes")
    assert "has changed since this was edited" not in text_of(client.get(letter))
    assert sign(client, visit).status_code == 302


@pytest.mark.parametrize("paper", ["letter", "summary"])
def test_what_cannot_wait_goes_only_with_a_reason(client: Client, visit: str, paper: str) -> None:
    """Without one the page says what is missing and nobody signs; the reason is kept and shown."""
    address = f"{visit}{paper}/"
    name = urgent(client, address)
    say(client, address, name, "Nothing pressing.")
    assert "This must not be missed, and is no longer said in these words" in text_of(client.get(address))
    assert "say why, or take it back" in text_of(client.get(f"{visit}sign/"))
    assert sign(client, visit).status_code == 400
    say(client, address, name, "Nothing pressing.", keep="yes", reason="Settled by telephone")
    assert "because: Settled by telephone" in text_of(client.get(address))
    assert sign(client, visit).status_code == 302
    signed = text_of(client.get(f"{visit}signed/1/"))
    assert "Because Settled by telephone" in signed
    assert "The program had said" in signed


def test_what_is_read_before_signing_is_what_is_signed(client: Client, visit: str) -> None:
    """Letter and patient's page are signed as the page before showed them, and then say who signed when."""
    say(client, f"{visit}letter/", "plan-next", "Scan on Friday.")
    say(client, f"{visit}summary/", "looked-for", "We looked at your knees.")
    pages = (
        client.get(f"{visit}sign/").content.decode(),
        (sign(client, visit), client.get(f"{visit}signed/1/").content.decode())[1],
    )
    texts = [
        [unescape(each.strip()) for each in re.findall(r"<pre[^>]*>(.*?)</pre>", page, re.DOTALL)]
        for page in pages
    ]
    line = re.compile(r"(<p class=.signature.>)?Signed by .*?(</p>|\n\n)", re.DOTALL | re.IGNORECASE)
    assert [len(line.findall(each)) for each in (*texts[0][:2], *texts[1][:2])] == [0, 0, 1, 1]
    assert texts[0][:2] == [line.sub("", each) for each in texts[1][:2]]
    composed = [re.findall(r"<article[^>]*>(.*?)</article>", page, re.DOTALL) for page in pages]
    assert [2, 2] == list(map(len, composed))
    assert "".join(composed[0]).split() == line.sub("", "".join(composed[1])).split()
    for shown, text in zip(composed[1], texts[1][:2], strict=True):  # the page says all that its text says
        words = unescape(re.sub(r"<svg.*?</svg>|<[^>]*>", " ", shown, flags=re.DOTALL)).lower()
        assert set(re.findall(r"\w+", text.lower())) <= set(re.findall(r"\w+", words))
    taken = client.get(f"{visit}signed/1/summary.txt").content.decode()
    assert taken.strip() == texts[1][1]


def _headed(*lines: str) -> Options:
    """Return how the server of a test was started, but for its letterhead."""
    options: Options = settings.FABELLA
    return replace(options, letterhead=lines)


def test_what_was_signed_keeps_the_letterhead_of_then(client: Client, visit: str) -> None:
    """It stands on every page before and after, in text and PDF; a server with another changes nothing."""
    with override_settings(FABELLA=_headed("Knee Clinic of Nowhere", "1 Made-up Lane")):
        for address in ("letter/", "summary/", "sign/"):
            assert "Knee Clinic of Nowhere<br>1 Made-up Lane" in client.get(visit + address).content.decode()
        assert client.get(f"{visit}letter-not-signed.txt").content.decode().startswith("Knee Clinic of Now")
        sign(client, visit)
    with override_settings(FABELLA=_headed("Elsewhere")):
        assert "Knee Clinic of Nowhere<br>" in client.get(f"{visit}signed/1/").content.decode()
        for paper in ("letter", "summary"):
            text = client.get(f"{visit}signed/1/{paper}.txt").content.decode()
            assert text.startswith("Knee Clinic of Nowhere\n1 Made-up Lane\n\n")
            pdf = client.get(f"{visit}signed/1/{paper}.pdf").content
            assert "1 Made-up Lane" in PdfReader(BytesIO(pdf)).pages[0].extract_text()
        page = text_of(client.get(f"{visit}signed/1/again/"))
    assert "it is what was signed, to the last character" in page
    assert page.count("the same, to the last byte") == 2


def test_before_signing_what_is_taken_away_says_so(client: Client, visit: str) -> None:
    """The draft as text opens as a plain page to copy from; the draft as PDF has the same words."""
    say(client, f"{visit}letter/", "plan-next", "Scan on Friday.")
    text = client.get(f"{visit}letter-not-signed.txt")
    assert text.headers["Content-Type"] == "text/plain; charset=utf-8"
    assert "Content-Disposition" not in text.headers
    pdf = client.get(f"{visit}letter-not-signed.pdf")
    words = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf.content)).pages).split())
    for taken in (text.content.decode(), words):
        assert "Scan on Friday." in taken
        assert "not signed yet" in taken.casefold()
    assert client.get(f"{visit}summary-not-signed.pdf").content[:5] == b"%PDF-"


def test_the_patients_page_says_how_hard_it_is_to_read(client: Client, visit: str) -> None:
    """Long words raise the grade, and the page says that it is hard."""
    summary = f"{visit}summary/"
    assert "Reading level: grade" in text_of(client.get(summary))
    hard = "Notwithstanding considerable deterioration, rehabilitation is anticipated imminently. "
    say(client, summary, "looked-for", hard * 6)
    assert "That is hard" in text_of(client.get(summary))


def test_a_signed_letter_is_made_again(client: Client, visit: str) -> None:
    """The page says that file, words and drawing are those that were signed."""
    say(client, f"{visit}letter/", "plan-next", "Scan on Friday.")
    sign(client, visit)
    page = text_of(client.get(f"{visit}signed/1/again/"))
    assert "it is what was signed, to the last character" in page
    assert page.count("the same, to the last byte") == 2


def test_what_is_handed_out_stands_at_the_head_of_what_was_signed(client: Client, visit: str) -> None:
    """Letter and patient's page as PDF come first on the page after the signature, each by name."""
    sign(client, visit)
    head = client.get(f"{visit}signed/1/").content.decode().partition("</h1>")[2].partition("</p>")[0]
    links = re.findall(r'href="([^"]+)">([^<]+)</a>', head)
    assert [words for _, words in links[:2]] == ["Letter as PDF", "Patient’s page as PDF"]
    for (address, _), heading in zip(links[:2], ("Examination of both knees", "Your knees"), strict=True):
        first = PdfReader(BytesIO(client.get(address).content)).pages[0].extract_text()
        assert heading in first


def test_a_signed_visit_shows_what_was_signed(client: Client, visit: str) -> None:
    """The conclusion of a signed visit is that of its signature, with its edition; an open one is live."""
    assert "As it was signed" not in text_of(client.get(visit))
    sign(client, visit)
    page = text_of(client.get(visit))
    assert f"As it was signed, with evidence {load_edition().id}." in page
    assert "Today’s evidence and program say the same." in page


def test_a_signed_visit_says_when_today_would_differ(
    client: Client, visit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where today's program concludes otherwise both are there, and what was signed stands first."""
    sign(client, visit)

    def otherwise(examination: Examination) -> Live:
        today = live(examination)
        return replace(today, concluded=replace(today.concluded, nothing_said="The moon is full."))

    monkeypatch.setattr("fabella.web.pages.visit.live", otherwise)
    page = text_of(client.get(visit))
    assert "it would come to something else. What was signed stands." in page
    assert page.index("As it was signed") < page.index("The moon is full.")


def test_two_who_edit_one_passage_both_see_it(client: Client, visit: str) -> None:
    """Words that were written unseen of others' stand beside them, on the letter's own page."""
    letter, base = f"{visit}letter/", str(Visit.objects.get().version)
    other = Client(SERVER_NAME="localhost")
    say(client, letter, "plan-next", "Scan on Friday.", base=base)
    say(other, letter, "plan-next", "No scan.", base=base)
    page = text_of(client.get(letter))
    assert "Two entries disagree" in page
    assert "Letter: plan, next" in page
    assert "No scan." in page


def test_words_for_a_signed_visit_are_refused(client: Client, visit: str) -> None:
    """A form that was open when somebody else signed changes nothing, and says why."""
    sign(client, visit)
    answer = client.post(
        f"{visit}letter/", {"passage": "plan-next", "text": "Late.", "computed": "", "base": "1"}
    )
    assert (answer.status_code, "comes after the signature" in answer.content.decode()) == (400, True)


def test_a_page_that_stays_open_is_one_line_of_the_trail(client: Client, visit: str) -> None:
    """Opening the letter is a line; what the open page fetches again in the same sitting is none."""
    client.get(f"{visit}letter/")
    before = Trace.objects.count()
    for _ in range(5):
        assert client.get(f"{visit}letter/?again").status_code == 200
    assert Trace.objects.count() == before


def test_letter_and_page_tell_the_patient_from_all_others(client: Client, visit: str) -> None:
    """Number and day of birth stand in both before and after signing, and stay as they were signed.

    Details that are corrected later change neither what was signed nor what is made again of it.
    """
    patient = Visit.objects.get().patient
    born = patient.birth_date
    assert born is not None
    words = f"number {patient.number}, born {born.day} {born:%B} {born.year}"
    for name in ("letter", "summary"):
        assert words in " ".join(client.get(f"{visit}{name}-not-signed.txt").content.decode().split())
    sign(client, visit)
    type(patient).objects.update(number="another")
    for name in ("letter", "summary"):
        assert words in " ".join(client.get(f"{visit}signed/1/{name}.txt").content.decode().split())
    assert "it is what was signed, to the last character" in text_of(client.get(f"{visit}signed/1/again/"))
