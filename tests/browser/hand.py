"""One hand at the bedside: it touches what is on the screen, and counts."""

from __future__ import annotations

import json
from typing import Any

from playwright.sync_api import Page

from tests.browser.clinics import Clinic
from tests.web.hands import Browser

AT_REST_MS = 400
"""A second touch of the same button within 350 ms is taken for a slip."""


class Hand:
    """A finger on a page: every touch is counted, and nothing else is done to the page."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.touches = 0

    def touch(self, selector: str) -> None:
        """Touch what is visible there."""
        self.page.locator(selector).locator("visible=true").first.click()
        self.touches += 1

    def at_hand(self, words: str) -> None:
        """Touch the button that is always at hand, which must say these words."""
        said = self.page.locator("#looked").inner_text()
        assert words in said, f"expected {words!r} at hand, and it says {said!r}"
        self.touch("#looked")
        self.page.wait_for_timeout(AT_REST_MS)

    def cell(self, sign: str, side: str) -> None:
        """Touch the cell of a sign on one side."""
        self.touch(f"#sign-{sign} .cell[data-side={side}]")

    def level(self, words: str) -> None:
        """Touch a level or a value that is offered."""
        self.touch(f".choosing button:text-is('{words}')")


def new_visit(clinic: Clinic, page: Page, *, number: str, born: str = "1998-05-04", sex: str = "male") -> int:
    """Add an invented patient with a visit of today, by the forms, and return the visit."""
    page.goto(clinic.address("add_patient"))
    page.fill("#number", number)
    page.fill("#label", "Ned Kettle")
    page.fill("#birth_date", born)
    page.check(f"input[name=sex][value={sex}]")
    page.locator("main button.main").click()
    page.check("input[name=complaint][value=right]")
    page.check("input[name=setting][value=specialist_clinic]")
    page.locator("main button.main").click()
    page.wait_for_selector("html[data-ready]")
    return int(page.url.split("/visits/")[1].split("/")[0])


def open_examination(clinic: Clinic, page: Page, visit: int) -> None:
    """Open the examination page and wait until it can be used."""
    page.goto(clinic.address("examine", visit_id=visit))
    page.wait_for_selector("html[data-ready]")


def examination_of(clinic: Clinic, visit: int) -> dict[str, Any]:
    """Return the examination as the server holds it."""
    hands = Browser(clinic.server.port)
    try:
        _, _, body = hands.ask("GET", clinic.address("api_state", visit_id=visit))
        found: dict[str, Any] = json.loads(body)["examination"]
        return found
    finally:
        hands.close()


def finding(examination: dict[str, Any], sign: str, side: str | None) -> dict[str, Any] | None:
    """Return one finding of an examination, None when it was not examined."""
    return next(
        (each for each in examination["findings"] if each["sign"] == sign and each.get("side") == side), None
    )
