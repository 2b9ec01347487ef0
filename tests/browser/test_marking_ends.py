"""How a sheet ends on a tablet: by the bell with items not reached, or because its candidate is away."""

from __future__ import annotations

import json
from contextlib import ExitStack

import pytest
from playwright.sync_api import Browser, BrowserContext, Route

from tests.browser import test_marking
from tests.browser.test_marking import marking, state, tablet, touch, until_saved
from tests.browser.ward import Ward

ward, devices = test_marking.ward, test_marking.devices
LONG_AGO, FAR = 1_000_000, 9_000_000_000_000  # milliseconds: a bell that has gone, one that has not


def told_otherwise(device: BrowserContext, **about: object) -> None:
    """Let the server tell the tablet something else of every sheet: when the bell goes, who is away."""

    def answer(route: Route) -> None:
        found = route.fetch()
        if not found.ok:
            route.fulfill(response=found)
            return
        tree = found.json()
        tree["sheets"] = [{**each, **about} for each in tree["sheets"]]
        route.fulfill(response=found, body=json.dumps(tree))

    device.route("**/api/mark/sheets", answer)


@pytest.fixture
def hall(ward: Ward, browser: Browser, devices: ExitStack) -> BrowserContext:
    """A tablet."""
    return tablet(ward, browser, devices)


def test_after_the_bell_one_touch_says_what_was_not_reached(hall: BrowserContext) -> None:
    """What has no mark when the bell has gone becomes not reached, never 0, and the sheet is finished."""
    told_otherwise(hall, begins=0, ends=LONG_AGO)
    page = marking(hall, "E-0-s00", "C000")
    page.wait_for_timeout(300)
    touch(page, "look", 0)
    page.locator(".grades button").nth(2).click()
    page.click("#finish")
    assert "If the bell came first, say so." in page.locator(".finishing").inner_text()
    page.get_by_role("button", name="Not reached before the bell").click()
    until_saved(page)
    made = state(page, "C000")
    assert made["marks"] == {"look": 0, "feel": "not_reached", "move": "not_reached", "tell": "not_reached"}
    assert made["finished"]


def test_before_the_bell_a_gap_is_only_a_gap(hall: BrowserContext) -> None:
    """While the time goes on nobody is asked about the bell; finished all the same, the gaps are missing."""
    told_otherwise(hall, begins=FAR - 1, ends=FAR)
    page = marking(hall, "E-0-s00", "C001")
    page.wait_for_timeout(300)
    touch(page, "look", 1)
    page.click("#finish")
    assert not page.get_by_role("button", name="Not reached before the bell").is_visible()
    page.get_by_role("button", name="Finish anyway").click()
    until_saved(page)
    assert state(page, "C001")["marks"] == {"look": 1}


def test_who_is_away_is_told_and_not_begun(hall: BrowserContext) -> None:
    """The list and the sheet say it, nothing begins by itself, and the next candidate is another."""
    told_otherwise(hall, away="absent", begins=0, ends=FAR)
    page = marking(hall, "E-1-s01")
    page.wait_for_selector(".candidates .fullness.away")
    assert page.locator(".candidates .fullness.away").count() == 2
    page.locator(".candidates a").first.click()
    page.wait_for_selector(".mark-sheet .notice")
    assert "candidate absent" in page.locator(".mark-sheet .notice").first.inner_text()
    page.wait_for_timeout(1500)
    assert page.locator("#kept").inner_text() == "Saved"
    name = page.locator(".mark-sheet h1").inner_text().split()[0]
    assert state(page, name)["began"] is None
