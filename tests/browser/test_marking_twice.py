"""One examiner in two tabs, taps that come twice, pages loaded again, a code that has run out."""

from __future__ import annotations

from contextlib import ExitStack

from playwright.sync_api import Browser

from tests.browser import test_marking
from tests.browser.hall import kept
from tests.browser.test_marking import (
    POSTS,
    marking,
    open_sheet,
    pressed,
    state,
    tablet,
    told,
    touch,
    until_saved,
)
from tests.browser.test_marks_killed import enter
from tests.browser.ward import Ward, until

devices, ward = test_marking.devices, test_marking.ward


def events(ward: Ward, examiner: str, candidate: str) -> int:
    """How many events the server keeps of a sheet, but for its beginning."""
    found = kept(ward.data)[examiner, candidate]
    assert len(found) == len(set(found))
    return max(0, len(found) - 1)


def test_two_tabs_of_one_examiner_show_each_other(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """What is touched in one stands in the other, also without a connection; nothing is sent twice."""
    device = tablet(ward, browser, devices)
    one = marking(device, "E-0-s00", "C000")
    other = device.new_page()
    other.goto("/mark/sheets/")
    open_sheet(other, "C000")
    touch(one, "look", 1)
    until(other, lambda: pressed(other) == pressed(one) != [])
    device.set_offline(offline=True)
    touch(one, "feel", 2)
    touch(other, "move", 0)
    touch(other, "look", 2)
    device.set_offline(offline=False)
    for page in (one, other):
        page.evaluate("dispatchEvent(new Event('online'))")
        until_saved(page)
    sheet = state(one, "C000")
    assert sheet["marks"] == {"look": 2, "feel": 2, "move": 0}
    assert not sheet["disputes"]
    assert events(ward, "E-0-s00", "C000") == 4


def test_a_tap_that_comes_twice_is_one(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """On a mark and on the button that finishes; the mark stands."""
    page = marking(tablet(ward, browser, devices), "E-0-s01", "C000")
    for item in ("look", "feel", "move", "tell"):
        page.locator(f".mark-item[aria-labelledby=item-{item}] .anchors button").nth(1).dblclick()
    until_saved(page)
    assert state(page, "C000")["marks"] == dict.fromkeys(("look", "feel", "move", "tell"), 1)
    before = events(ward, "E-0-s01", "C000")
    page.click("#finish")
    page.get_by_role("button", name="Finish anyway").dblclick()
    until_saved(page)
    sheet = state(page, "C000")
    assert (sheet["finished"], sheet["reopened"]) == (True, [])
    assert events(ward, "E-0-s01", "C000") == before + 1


def test_a_page_loaded_again_keeps_what_was_not_sent(
    ward: Ward, browser: Browser, devices: ExitStack
) -> None:
    """In the middle of a sheet, without a connection; the button back too."""
    device = tablet(ward, browser, devices)
    page = marking(device, "E-1-s00", "C002")
    device.set_offline(offline=True)
    touch(page, "look", 1)
    touch(page, "feel", 2)
    page.reload()
    until(page, lambda: page.locator(".candidates a").count() > 0 or page.locator(".mark-sheet").count() > 0)
    page.go_back()
    page.goto("/mark/sheets/")
    device.set_offline(offline=False)
    page.evaluate("dispatchEvent(new Event('online'))")
    until(page, lambda: state(page, "C002")["marks"] == {"look": 1, "feel": 2})
    assert events(ward, "E-1-s00", "C002") == 2


def test_marks_outlast_the_code_that_let_one_in(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """The pass of a tablet ends while marks wait on it: it says so, and the same code sends them, once."""
    device = tablet(ward, browser, devices)
    page = marking(device, "E-1-s01", "C003")
    device.clear_cookies(name="fabella_exam")
    touch(page, "look", 2)
    touch(page, "feel", 1)
    until(page, lambda: told(page) not in {"Saved", ""} and "aving" not in told(page))
    assert "Enter your code again" in told(page)
    assert events(ward, "E-1-s01", "C003") == 0
    assert pressed(page)
    enter(page, POSTS["E-1-s01"])
    until(page, lambda: state(page, "C003")["marks"] == {"look": 2, "feel": 1})
    assert events(ward, "E-1-s01", "C003") == 2
