"""A tablet in a hall with bad wireless: one touch an item, undo, finish, all without a connection."""

import json
import re
from collections.abc import Iterator
from contextlib import ExitStack, closing
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.chromium import new_device
from tests.browser.hall import Post, kept, make_hall
from tests.browser.test_marks_killed import enter
from tests.browser.test_offline import KEPT
from tests.browser.ward import Ward, running_ward, until

POSTS: dict[str, Post] = {}


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ward]:
    """A server with an open exam at the end of a wire: two stations, two circuits."""
    data = tmp_path_factory.mktemp("hall")
    for post in make_hall(data, stations=2, circuits=2):
        POSTS[post.examiner] = post
    with running_ward(data) as running:
        yield running


@pytest.fixture
def devices() -> Iterator[ExitStack]:
    """Where devices are kept that are put away after a test."""
    with ExitStack() as stack:
        yield stack


def tablet(ward: Ward, browser: Browser, devices: ExitStack) -> BrowserContext:
    """A tablet on a ward with a sound wire."""
    ward.wire.mend()
    return devices.enter_context(closing(new_device(browser, ward.origin, width=820, height=1180)))


def marking(device: BrowserContext, examiner: str, candidate: str | None = None) -> Page:
    """A page on which an examiner marks, that can be used without a connection."""
    page = device.new_page()
    enter(page, POSTS[examiner])
    until(page, lambda: ["visits", "/mark/sheets/"] in page.evaluate(KEPT))
    if candidate:
        open_sheet(page, candidate)
    return page


def open_sheet(page: Page, candidate: str) -> None:
    """Open the sheet of a candidate."""
    page.locator(".candidates a", has_text=candidate).click()
    page.wait_for_selector(f".mark-sheet h1:has-text('{candidate}')")


def touch(page: Page, item: str, mark: int) -> None:
    """Touch a mark of an item."""
    page.locator(f".mark-item[aria-labelledby=item-{item}] .anchors button").nth(mark).click()


def pressed(page: Page) -> list[str]:
    """The first words of everything that is chosen on the sheet."""
    return [each.split()[0] for each in page.locator(".mark-sheet [aria-pressed=true]").all_inner_texts()]


def told(page: Page) -> str:
    """The status line."""
    return page.locator("#kept").inner_text()


def until_saved(page: Page) -> None:
    """Wait until everything is acknowledged."""
    until(page, lambda: told(page) == "Saved", 60)


def state(page: Page, candidate: str) -> dict[str, Any]:
    """How a sheet stands on the server."""
    sheets = page.evaluate("fetch('/api/mark/sheets').then((answer) => answer.json())")["sheets"]
    return next(dict(each) for each in sheets if each["candidate"] == candidate)


def test_a_sheet_is_marked_with_one_touch_an_item(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """Marks, reasons for none, grade, comment and concern are on the server; the time took itself."""
    page = marking(tablet(ward, browser, devices), "E-0-s00", "C000")
    touch(page, "look", 2)
    touch(page, "feel", 0)
    page.locator(".opens").nth(2).click()
    page.get_by_role("button", name="Not offered").nth(0).click()
    page.locator(".grades button").nth(1).click()
    page.fill("#comment-whole", "Say which knee.")
    page.locator(".concern summary").click()
    page.get_by_role("button", name="Raise a concern").click()
    assert "needs its reason" in page.locator(".concern").inner_text()
    page.fill("#concern", "Bent a painful knee")
    page.get_by_role("button", name="Raise a concern").click()
    until_saved(page)
    made = state(page, "C000")
    assert made["marks"] == {"look": 2, "feel": 0, "move": "not_offered"}
    assert (made["grade"], made["concern"]) == (1, "Bent a painful knee")
    assert made["comments"] == {"": "Say which knee."}
    assert made["began"] is not None


def test_whose_sheet_it_is_stays_in_sight(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """At the end of a sheet the candidate still stands on the screen; five grades stand in one row."""
    page = marking(tablet(ward, browser, devices), "E-1-s01", "C003")
    page.set_viewport_size({"width": 820, "height": 500})
    page.locator("#finish").scroll_into_view_if_needed()
    expect(page.locator(".mark-sheet h1")).not_to_be_in_viewport()
    expect(page.get_by_text(re.compile(r"^C003: \d of 4 items$"))).to_be_in_viewport(ratio=1)
    tops = page.locator(".grades button").evaluate_all("all => all.map((each) => each.offsetTop)")
    assert len(tops) == 5
    assert len(set(tops)) == 1


def test_undo_takes_back_touch_by_touch(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """What stood before stands again, here and on the server; a first touch leaves a gap."""
    page = marking(tablet(ward, browser, devices), "E-0-s00", "C001")
    touch(page, "look", 1)
    touch(page, "look", 2)
    page.click("#undo")
    assert pressed(page) == ["1"]
    page.click("#undo")
    assert pressed(page) == []
    assert page.locator("#undo").is_disabled()
    until_saved(page)
    assert state(page, "C001")["marks"] == {}


def test_a_finished_sheet_needs_a_reason(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """Gaps are named before the end; after it nothing can be touched until a reason is written."""
    page = marking(tablet(ward, browser, devices), "E-1-s00", "C002")
    touch(page, "look", 1)
    page.click("#finish")
    assert (
        "“Does feel”, “Does move”, “Does tell”, the global rating" in page.locator(".finishing").inner_text()
    )
    page.get_by_role("button", name="Finish anyway").click()
    assert page.locator(".anchors button").first.is_disabled()
    until_saved(page)
    assert state(page, "C002")["finished"]
    page.locator(".reopen summary").click()
    page.get_by_role("button", name="Open it again").click()
    assert "only with a reason" in page.locator(".reopen").inner_text()
    page.fill("#reopen", "Touched the wrong row")
    page.get_by_role("button", name="Open it again").click()
    touch(page, "look", 2)
    until_saved(page)
    made = state(page, "C002")
    assert (made["finished"], made["reopened"], made["marks"]) == (
        False,
        ["Touched the wrong row"],
        {"look": 2},
    )


def test_a_tablet_goes_on_without_a_connection(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """Cut off, loaded again, on another sheet: everything marked stands there, and arrives once later."""
    page = marking(tablet(ward, browser, devices), "E-0-s01", "C000")
    touch(page, "look", 1)
    until_saved(page)
    ward.wire.cut()
    touch(page, "feel", 2)
    until(page, lambda: "1 entry waits on this device" in told(page))
    page.reload()
    page.wait_for_selector("html[data-ready]")
    page.wait_for_selector(".mark-sheet h1:has-text('C000')")
    assert pressed(page) == ["1", "2"], "also what the copy of the page had not"
    touch(page, "move", 0)
    page.locator(".crumb a[href='#']").click()
    open_sheet(page, "C001")
    touch(page, "look", 2)
    until(page, lambda: "wait on this device" in told(page))
    assert sum(len(ids) for (who, _), ids in kept(ward.data).items() if who == "E-0-s01") == 2
    ward.wire.mend()
    until_saved(page)
    assert state(page, "C000")["marks"] == {"look": 1, "feel": 2, "move": 0}
    assert state(page, "C001")["marks"] == {"look": 2}
    ids = [each for (who, _), all_ in kept(ward.data).items() if who == "E-0-s01" for each in all_]
    assert len(ids) == len(set(ids)) == 6


def test_two_tablets_of_one_examiner_are_told_that_they_disagree(
    ward: Ward, browser: Browser, devices: ExitStack
) -> None:
    """What one marked while cut off, and the other meanwhile, is kept twice; both say so."""
    one = marking(tablet(ward, browser, devices), "E-1-s01", "C002")
    other = marking(tablet(ward, browser, devices), "E-1-s01", "C002")
    one.context.set_offline(offline=True)
    touch(one, "look", 1)
    touch(other, "look", 2)
    until_saved(other)
    one.context.set_offline(offline=False)
    until_saved(one)
    for page in (one, other):
        page.evaluate("dispatchEvent(new Event('focus'))")
        until(page, lambda page=page: "the exam lead says" in page.locator(".mark-sheet").inner_text())  # type: ignore[misc]
    assert state(one, "C002")["disputes"][0]["values"] == ["2: well", "1: partly"]


def test_marks_wait_for_their_own_examiner(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """On a tablet that changed hands the first one's marks are not sent under the second's code, nor lost."""
    device = tablet(ward, browser, devices)
    page = marking(device, "E-1-s00", "C003")
    device.set_offline(offline=True)
    touch(page, "tell", 2)
    until(page, lambda: "waits on this device" in told(page) or "wait on this device" in told(page))
    page.close()
    device.set_offline(offline=False)
    second = device.new_page()
    second.goto("/mark/")
    until(second, lambda: "wait" in second.locator("#waiting").inner_text())
    enter(second, POSTS["E-0-s00"])
    until(second, lambda: "by another examiner wait" in told(second))
    assert second.evaluate(KEPT).count(["visits", "/mark/sheets/"]) <= 1
    enter(second, POSTS["E-1-s00"])
    until(second, lambda: state(second, "C003")["marks"] == {"tell": 2})


def test_over_plain_http_it_is_said(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """Where browsers allow no worker the page says that it must not be closed."""
    device = tablet(ward, browser, devices)
    device.add_init_script(
        "Object.defineProperty(Navigator.prototype, 'serviceWorker', { value: undefined })"
    )
    page = device.new_page()
    enter(page, POSTS["E-0-s00"])
    assert "do not close it" in page.locator("#not-offline").inner_text()


def test_the_bell_rings_on_a_tablet_whose_clock_is_wrong(
    ward: Ward, browser: Browser, devices: ExitStack
) -> None:
    """A tablet that is an hour ahead knows it from the server, and says it with each mark."""
    device = tablet(ward, browser, devices)
    device.add_init_script("{ const now = Date.now; Date.now = () => now() + 3_600_000; }")
    page = marking(device, "E-0-s01", "C001")
    until(page, lambda: page.evaluate("localStorage.getItem('exam-clock')") is not None)
    ahead = json.loads(page.evaluate("localStorage.getItem('exam-clock')"))["ahead"]
    assert abs(ahead - 3_600_000) < 5_000
    assert page.locator("#clock-words").inner_text()


def test_the_day_renews_itself(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """The lead's page shows a sheet that is begun without being loaded again; what was open stays so."""
    device = tablet(ward, browser, devices)
    lead = device.new_page()
    lead.goto("/exams/1/watch/")
    lead.locator(".examiner", has_text="E-1-s01").locator("summary").click()
    before = lead.locator(".examiner", has_text="E-1-s01").inner_text()
    page = marking(tablet(ward, browser, devices), "E-1-s01", "C003")
    touch(page, "look", 1)
    until_saved(page)
    line = lead.locator(".examiner", has_text="E-1-s01")
    until(lead, lambda: line.inner_text() != before, 20)
    assert line.get_attribute("open") is not None
    assert "1 of 4 items" in line.inner_text()
    other = lead.locator(".examiner", has_text="E-1-s00")
    assert other.locator("ul").count() == 0  # what nobody reads is not fetched every few seconds
    other.locator("summary").click()
    other.locator("ul").wait_for(timeout=3_000)  # before it is renewed anyhow
    assert line.get_attribute("open") is not None


STANDS = """async (sheet) => {
  const beside = document.querySelector("script[src$='mark.js']").src;
  const { how, isExcused } = await import(new URL("mark_state.js", beside));
  const judged = { marks: {}, grade: null, concern: "", finished: false };
  const made = { number: 0, began: null, ...judged, away: "", instead: "", ...sheet };
  return [how(made, { items: [{ id: "look" }] })[1], isExcused(made)];
}"""


TOLD = [
    ({}, ["not begun", False]),
    ({"instead": "Edith"}, ["marked by Edith", True]),
    ({"away": "absent"}, ["candidate absent", True]),
    ({"instead": "Edith", "marks": {"look": 1}}, ["being marked", False]),
]


def test_whom_a_predecessor_has_marked_is_said_and_waited_for_no_more(
    ward: Ward, browser: Browser, devices: ExitStack
) -> None:
    """The tablet names who marked them, and passes over them, until its own examiner marks them too."""
    page = marking(tablet(ward, browser, devices), "E-0-s00")
    for sheet, told in TOLD:
        assert page.evaluate(STANDS, sheet) == told, sheet
