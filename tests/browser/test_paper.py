"""The letter edited in place: by hand, by keyboard, without a connection, while the examination goes on."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing
from itertools import count
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.chromium import Watch
from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage
from tests.web.hands import Browser

_numbers = count(7000)
_ids = (f"letter-by-hand-{number:06}" for number in count(1))
HOT = {"sign": "warmth", "side": "right", "state": "abnormal", "level": "hot"}
SWOLLEN = {"sign": "effusion_sweep", "side": "right", "state": "abnormal", "level": "3+"}


def finding(written: dict[str, Any], base: int = 1) -> dict[str, Any]:
    """An operation that states a finding."""
    return {"id": next(_ids), "base": base, "change": "set_finding", "finding": written}


@pytest.fixture
def hands(clinic: Clinic) -> Iterator[Browser]:
    """Somebody else, on another device."""
    with closing(Browser(clinic.server.port)) as made:
        yield made


@pytest.fixture
def visit(hands: Browser) -> int:
    """A visit of a new patient with a hot knee and a fever, which cannot wait."""
    found = re.search("/visits/([0-9]+)", hands.new_visit(next(_numbers)))
    assert found is not None
    fever = {"id": next(_ids), "base": 1, "change": "set_history", "item": "fever", "value": True}
    hands.save(f"/api/visits/{found[1]}", finding(HOT), finding(SWOLLEN), fever)
    return int(found[1])


@pytest.fixture
def letter(page: Page, clinic: Clinic, visit: int) -> Page:
    """The letter of that visit, ready to be edited."""
    page.goto(clinic.address("letter", visit_id=visit))
    expect(page.locator("#kept")).to_have_text("Everything is saved.")
    return page


def edit(page: Page, passage: str, text: str) -> None:
    """Touch a passage, type, and leave it."""
    page.locator(f"#p-{passage} .said").click()
    page.locator(f"#t-{passage}").fill(text)
    page.keyboard.press("Escape")


def test_a_touch_opens_a_passage_and_what_is_typed_is_saved(letter: Page) -> None:
    """Without any button: the words stand in the letter, marked as edited, and after loading again too."""
    edit(letter, "plan-next", "Washed out tonight.\nNil by mouth.")
    said = letter.locator("#p-plan-next .said")
    expect(said).to_contain_text("Next step: Washed out tonight.")
    expect(letter.locator("#p-plan-next .whose")).to_contain_text("edited by you")
    letter.reload()
    expect(said).to_contain_text("Nil by mouth.")
    expect(letter.locator("[data-fresh=foot]")).to_contain_text("1 passage is in the writer’s own words")
    letter.get_by_role("button", name="As computed: Next step").click()
    expect(said).not_to_contain_text("Washed out")
    expect(letter.locator("#p-plan-next .whose")).to_have_count(0)


def test_the_keyboard_alone_edits_a_passage(letter: Page) -> None:
    """Enter opens it and puts the cursor into the words; Escape closes it and goes back to where one was."""
    opener = letter.locator("#p-plan-next summary")
    opener.focus()
    letter.keyboard.press("Enter")
    expect(letter.locator("#t-plan-next")).to_be_focused()
    letter.keyboard.press("Control+A")
    letter.keyboard.type("Washed out tonight.")
    letter.keyboard.press("Escape")
    expect(letter.locator("#p-plan-next .said")).to_contain_text("Washed out tonight.")
    expect(opener).to_be_focused()


def test_a_reason_is_asked_for_on_the_spot(letter: Page) -> None:
    """What cannot wait is put otherwise: the page asks why at once, and the reason settles it."""
    name = letter.locator(".cannot-wait .passage").first.get_attribute("data-passage")
    edit(letter, str(name), "Nothing pressing.")
    question = letter.locator(f"#p-{name} .unsettled")
    expect(question).to_contain_text("This must not be missed, and is no longer said in these words")
    expect(letter.locator("[data-fresh=problems]")).to_contain_text("say why, or take it back")
    question.get_by_label("Why it is put otherwise or left out").fill("In theatre already")
    question.get_by_role("button", name="Confirm, with this reason").click()
    expect(question).to_have_count(0)
    expect(letter.locator(f"#p-{name} .whose")).to_contain_text("because: In theatre already")


def test_what_changes_at_the_bedside_shows_beside_edited_words(
    letter: Page, hands: Browser, visit: int
) -> None:
    """Without loading anything again both texts stand there; one touch keeps one of them."""
    edit(letter, "findings-right", "A hot knee.")
    expect(letter.locator("#p-findings-right .whose")).to_contain_text("edited by you")
    hands.save(f"/api/visits/{visit}", finding({**SWOLLEN, "level": "2+"}, base=4))
    choice = letter.locator("#p-findings-right .unsettled")
    expect(choice).to_contain_text("The computed text has changed since this was edited", timeout=10000)
    choice.get_by_role("button", name="Keep as edited").click()
    expect(choice).to_have_count(0)
    expect(letter.locator("#p-findings-right .said")).to_contain_text("A hot knee.")


def test_nobody_is_interrupted_while_typing(letter: Page, hands: Browser, visit: int) -> None:
    """News from elsewhere never touches the words that somebody is in the middle of."""
    letter.locator("#p-plan-next .said").click()
    field = letter.locator("#t-plan-next")
    field.fill("Half a sen")
    hands.save(f"/api/visits/{visit}", finding({**SWOLLEN, "level": "1+"}, base=4))
    expect(letter.locator("#p-findings-right .said")).to_contain_text("1+", timeout=10000)
    expect(field).to_be_focused()
    field.press_sequentially("tence.")
    letter.keyboard.press("Escape")
    expect(letter.locator("#p-plan-next")).to_contain_text("Half a sentence.")


def test_what_is_typed_without_a_connection_is_sent_later(letter: Page, watch: Watch) -> None:
    """It is kept on the device, the page says so, and it goes as soon as the connection is back."""
    watch.forgive("ERR_INTERNET_DISCONNECTED")
    letter.context.set_offline(True)
    edit(letter, "plan-next", "Washed out tonight.")
    expect(letter.locator("#kept")).to_contain_text(
        "1 change is kept on this device and sent later", timeout=10000
    )
    letter.context.set_offline(False)
    expect(letter.locator("#kept")).to_have_text("Everything is saved.", timeout=20000)
    letter.reload()
    expect(letter.locator("#p-plan-next .said")).to_contain_text("Washed out tonight.")


def test_whoever_leaves_in_the_middle_of_a_word_loses_nothing(letter: Page) -> None:
    """What was typed a moment before the page is left stands there when it is opened again."""
    letter.locator("#p-plan-next .said").click()
    letter.locator("#t-plan-next").fill("Seen again on Fri")
    letter.reload()
    expect(letter.locator("#p-plan-next .said")).to_contain_text("Seen again on Fri", timeout=30000)


def test_whoever_leaves_while_it_is_being_kept_loses_nothing(letter: Page) -> None:
    """What is on its way to a disk that is slow when the page is left stands there afterwards, too."""
    letter.evaluate(
        """() => {
          const add = IDBObjectStore.prototype.add;
          IDBObjectStore.prototype.add = function (...given) {
            const asked = add.apply(this, given), end = performance.now() + 5000;
            const busy = () => { this.count().onsuccess = () => { if (performance.now() < end) busy(); }; };
            busy(); // the disk takes five seconds, and the page does not stay so long
            return asked;
          };
        }"""
    )
    letter.locator("#p-plan-next .said").click()
    letter.locator("#t-plan-next").fill("Seen again on Sat")
    letter.keyboard.press("Escape")
    letter.reload()
    expect(letter.locator("#p-plan-next .said")).to_contain_text("Seen again on Sat", timeout=30000)


def test_what_was_noted_as_the_page_went_is_entered_once(letter: Page) -> None:
    """Neither disk nor connection have it when the page goes: the next finds a note, and enters it once."""
    letter.evaluate(
        """() => {
          IDBObjectStore.prototype.add = function () { throw new Error("the page is going"); };
          window.fetch = () => Promise.reject(new Error("and so is the connection"));
        }"""
    )
    letter.locator("#p-plan-next .said").click()
    letter.locator("#t-plan-next").fill("Seen again on Sun")
    left = "Object.keys(localStorage).filter((each) => each.startsWith('outbox-left-')).length"
    letter.reload()
    expect(letter.locator("#p-plan-next .said")).to_contain_text("Seen again on Sun", timeout=30000)
    expect(letter.locator("#kept")).to_have_text("Everything is saved.", timeout=20000)
    assert letter.evaluate(left) == 0
    letter.reload()
    expect(letter.locator("#p-plan-next .said")).to_contain_text("Seen again on Sun")


def test_the_whole_text_is_copied(letter: Page) -> None:
    """One button puts the letter as plain text on the clipboard, and what is not signed says so."""
    letter.context.grant_permissions(["clipboard-read", "clipboard-write"])
    letter.get_by_role("button", name="Copy as text").click()
    expect(letter.get_by_role("button", name="Copied")).to_be_visible()
    copied = str(letter.evaluate("navigator.clipboard.readText()"))
    assert "EXAMINATION OF BOTH KNEES" in copied
    assert "NOT SIGNED YET" in copied


def test_two_devices_see_each_others_words(
    letter: Page, open_page: OpenPage, clinic: Clinic, visit: int
) -> None:
    """What one writes on the ward, the other sees at the desk without loading the page again."""
    ward = open_page(width=390, height=844)
    ward.goto(clinic.address("letter", visit_id=visit))
    expect(ward.locator("#kept")).to_have_text("Everything is saved.")
    ward.locator("#addressee").fill("Dr Made Up")
    expect(letter.locator("#addressee")).to_have_value("Dr Made Up", timeout=10000)
