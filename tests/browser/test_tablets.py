"""What a tablet does otherwise than a desk: round corners, a finger that leaves, a page that is put away."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import ExitStack, closing
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route

from tests.browser import test_marking
from tests.browser.chromium import new_device
from tests.browser.clinics import Clinic
from tests.browser.hall import Post, make_hall
from tests.browser.test_marking import open_sheet, state
from tests.browser.test_marks_killed import enter
from tests.browser.ward import LAX, Ward, running_ward, until
from tests.web.walking import OPEN_RUN

POSTS: list[Post] = []
devices = test_marking.devices
INSETS = {"top": 0, "left": 47, "right": 47, "bottom": 21}
"""Pixels that a phone laid on its side keeps clear: some, as no standard says how many."""

UNCLEAR = """({ left, right, bottom }) => {
  const stays = (each) => each && (getComputedStyle(each).position === "fixed" || stays(each.parentElement));
  return [...document.querySelectorAll("a[href], button, input, select, textarea, summary")]
    .filter((each) => !each.matches(".skip") && each.checkVisibility({ visibilityProperty: true }))
    .filter((each) => {
      const at = each.getBoundingClientRect();
      const isUnder = stays(each) && at.bottom > innerHeight - bottom;
      return at.left < left - 1 || at.right > innerWidth - right + 1 || isUnder;
    })
    .map((each) => each.outerHTML.slice(0, 100));
}"""

LATER = 4_102_444_800_000
"""A bell of the year 2100, in milliseconds."""

PUT_AWAY = """() => {
  Object.defineProperty(document, "hidden", { get: () => true, configurable: true });
  document.dispatchEvent(new Event("visibilitychange"));
}"""

LISTEN = """() => {
  const Own = globalThis.AudioContext;
  globalThis.AudioContext = class extends Own { constructor() { super(); globalThis.heard = this; } };
  globalThis.awake = [];
  const given = { released: false, release: () => awake.push("off") };
  const lock = { request: async (kind) => { awake.push(kind); return given; } };
  Object.defineProperty(navigator, "wakeLock", { value: lock });
}"""


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ward]:
    """A server with an open exam: one station, two circuits."""
    data = tmp_path_factory.mktemp("hall")
    POSTS[:] = make_hall(data, stations=1, circuits=2)
    with running_ward(data) as running:
        yield running


def lying(browser: Browser, origin: str, devices: ExitStack) -> Page:
    """A phone that lies on its side, with corners that are round."""
    device = devices.enter_context(closing(new_device(browser, origin, width=844, height=390, worker=False)))
    page = device.new_page()
    device.new_cdp_session(page).send("Emulation.setSafeAreaInsetsOverride", {"insets": INSETS})
    return page


def test_nothing_to_press_lies_in_a_corner_of_the_screen(
    clinic: Clinic, ward: Ward, browser: Browser, devices: ExitStack
) -> None:
    """What is at hand, and all that stands beside the rounded corners, is clear of them."""
    page = lying(browser, clinic.origin, devices)
    page.goto(clinic.address("examine", visit_id=clinic.visit("open")))
    page.wait_for_selector("html[data-ready]")
    assert page.evaluate("getComputedStyle(document.body).paddingLeft") == f"{INSETS['left']}px"
    assert page.evaluate(UNCLEAR, INSETS) == []
    page.click("#gist")
    page.wait_for_selector(".gist-open #comes-to h2")
    assert page.evaluate(UNCLEAR, INSETS) == []
    over = page.evaluate(
        "document.getElementById('comes-to').getBoundingClientRect().bottom"
        " - document.getElementById('hand').getBoundingClientRect().top"
    )
    assert over <= 1
    page.goto(clinic.address("practice_run", run_id=OPEN_RUN))
    assert page.evaluate(UNCLEAR, INSETS) == []
    page = lying(browser, ward.origin, devices)
    enter(page, POSTS[0])
    open_sheet(page, POSTS[0].candidates[0])
    assert page.evaluate(UNCLEAR, INSETS) == []


def test_a_finger_that_is_gone_leaves_nothing_behind(
    clinic: Clinic, browser: Browser, devices: ExitStack
) -> None:
    """What was touched looks as it did before; under a mouse it shows that it is meant."""
    look = "each => { const { backgroundColor, borderColor, boxShadow } = getComputedStyle(each);"
    look += " return [backgroundColor, borderColor, boxShadow]; }"
    device = browser.new_context(
        base_url=clinic.origin, viewport={"width": 820, "height": 1180}, has_touch=True, is_mobile=True
    )
    page = devices.enter_context(closing(device)).new_page()
    page.goto("/patients/new/")
    add = page.get_by_role("button", name="Add the patient")
    before = add.evaluate(look)
    page.evaluate(
        "document.querySelector('main form').addEventListener('submit', (each) => each.preventDefault())"
    )
    page.fill("#number", "1")
    page.fill("#label", "A")
    for button in (add, page.locator(".foot button")):
        before = button.evaluate(look)
        button.tap()
        if button is not add:
            button.tap()  # and the room is light again
        assert button.evaluate(look) == before
    desk = devices.enter_context(closing(new_device(browser, clinic.origin))).new_page()
    desk.goto("/patients/new/")
    room = desk.locator(".foot button")
    before = room.evaluate(look)
    room.hover()
    assert room.evaluate(look) != before


def noted(page: Page, visit: int) -> list[Any]:
    """The notes of a visit, as the server has them."""
    asked = "async (visit) => (await (await fetch(`/api/visits/${visit}`)).json()).examination.findings ?? []"
    return [each.get("note") for each in page.evaluate(asked, visit)]


def write_a_note(page: Page, visit: int) -> None:
    """Write a note on a finding, and stay in its field."""
    page.goto(f"/visits/{visit}/examine/")
    page.wait_for_selector("html[data-ready]")
    page.fill("#find-sign", "lachman")
    page.locator("#found-signs button").first.click()
    cell = page.locator("#sign-lachman .cell[data-side=right]")
    cell.click()
    page.locator(".choosing .level", has_text=re.compile(LAX["level"][0])).first.click()
    if not page.locator(".choosing").count():
        cell.click()
    page.locator(".choosing .ending input").press_sequentially("soft end")


def test_a_note_is_kept_when_the_tablet_is_put_away(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """Nobody has left its field, and nothing more may come of the page; said again it is no second entry."""
    page = devices.enter_context(closing(new_device(browser, ward.origin))).new_page()
    visit = ward.new_visit()
    write_a_note(page, visit)
    page.evaluate(PUT_AWAY)
    until(page, lambda: "soft end" in noted(page, visit))
    entries = len(ward.ids(visit))
    page.locator(".choosing .ending input").press("Tab")
    page.wait_for_selector("#kept[data-kind=saved]")
    assert len(ward.ids(visit)) == entries


def test_a_note_is_kept_when_the_page_goes(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """As when somebody swipes back to the page before in the middle of a word."""
    page = devices.enter_context(closing(new_device(browser, ward.origin))).new_page()
    visit = ward.new_visit()
    write_a_note(page, visit)
    page.evaluate("location.assign('/help/')")
    page.wait_for_url("**/help/")
    until(page, lambda: "soft end" in noted(page, visit))


def test_a_number_half_typed_is_no_reading(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """Of 110 degrees 11 are no finding: it is entered when its field is left."""
    page = devices.enter_context(closing(new_device(browser, ward.origin))).new_page()
    visit = ward.new_visit()
    page.goto(f"/visits/{visit}/examine/")
    page.wait_for_selector("html[data-ready]")
    page.fill("#find-sign", "passive flexion")
    page.locator("#found-signs button").first.click()
    page.locator("#sign-passive_flexion .cell[data-side=left]").click()
    page.locator(".choosing .reading").press_sequentially("11")
    page.evaluate(PUT_AWAY)
    page.locator(".choosing .reading").press_sequentially("0")
    page.locator(".choosing .reading").press("Tab")
    page.wait_for_selector("#sign-passive_flexion .cell[data-side=left]:has-text('110')")
    until(page, lambda: bool(ward.ids(visit)))
    page.wait_for_selector("#kept[data-kind=saved]")
    asked = "async (visit) => (await (await fetch(`/api/visits/${visit}`)).json()).examination.findings"
    assert [each["value"] for each in page.evaluate(asked, visit)] == [110]


def marking(ward: Ward, browser: Browser, devices: ExitStack, candidate: str) -> Page:
    """A tablet on which a sheet is open."""
    device = devices.enter_context(closing(new_device(browser, ward.origin, width=820, height=1180)))
    device.add_init_script(f"({LISTEN})()")
    page = device.new_page()
    enter(page, POSTS[0])
    open_sheet(page, candidate)
    return page


def test_a_comment_is_kept_when_the_tablet_is_put_away(
    ward: Ward, browser: Browser, devices: ExitStack
) -> None:
    """The examiner locks the screen in the middle of a comment: it does not wait for the next key."""
    candidate = POSTS[0].candidates[0]
    page = marking(ward, browser, devices, candidate)
    page.clock.install()
    page.clock.pause_at("2100-01-01")  # no timer of the page goes off any more
    page.locator("#comment-whole").press_sequentially("Says which knee")
    page.evaluate(PUT_AWAY)
    until(page, lambda: state(page, candidate)["comments"] == {"": "Says which knee"})


def test_the_bell_is_heard_again_after_something_else_had_the_sound(
    ward: Ward, browser: Browser, devices: ExitStack
) -> None:
    """A tablet that was locked gives the sound back to the next touch, whatever that touches."""
    page = marking(ward, browser, devices, POSTS[0].candidates[0])
    page.click("#sound")
    page.wait_for_function("() => heard.state === 'running'")
    page.evaluate("heard.suspend()")
    page.wait_for_function("() => heard.state === 'suspended'")
    page.locator(".mark-sheet h1").click()
    page.wait_for_function("() => heard.state === 'running'")


def test_the_screen_stays_on_while_a_sheet_is_open(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """From the sheet to the list of all, and no longer; and not on a sheet of a day that is over."""
    page = marking(ward, browser, devices, POSTS[0].candidates[0])
    assert page.evaluate("awake") == []
    page.route("**/api/mark/sheets", ring_later)
    with page.expect_response("**/api/mark/sheets"):
        page.evaluate("dispatchEvent(new Event('focus'))")  # the server is asked again
    page.wait_for_function("() => !document.getElementById('clock-words').textContent.includes('over')")
    page.get_by_role("link", name="All candidates").click()
    open_sheet(page, POSTS[0].candidates[0])
    page.wait_for_function("() => awake.length > 0")
    page.get_by_role("link", name="All candidates").click()
    page.wait_for_selector(".mark-list")
    assert page.evaluate("awake") == ["screen", "off"]


def ring_later(route: Route) -> None:
    """Answer as the server does, but for a bell that rings later."""
    headers = {**route.request.headers, "if-none-match": ""}
    answer = route.fetch(headers=headers)
    told = answer.json()
    told["bells"].append({"begins": 0, "ends": LATER, "turn": 0})
    route.fulfill(response=answer, json=told)
