"""Nothing moves under a finger: what comes late has its place from the first, or lies over the foot."""

from __future__ import annotations

from importlib.resources import files

import pytest
from playwright.sync_api import Page

from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage
from tests.browser.moving import let_entry_wait, moved, slow_down, watch_moving
from tests.browser.sights import sights
from tests.browser.ward import until

LATENCY_MS = 100  # of a ward's wireless network (judgement)
AT_MOST = 0.01
"""A tenth of what the authors of the measure call good: half of a phone's screen that moves by more than
17 px is beyond it."""
WIDTHS = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1280, 800)}
AFTER_A_TOUCH = {
    "exam_change",
    "mark_door",
    "measure_pointing",
    "offline",
    "teach_patient",
    "teach_preview",
    "teach_set",
}
"""Templates whose script does something only once something was done."""
WORKED_OUT = {"exam_analysis", "exam_feedback", "exam_timetable", "own_hands", "practice_debrief"}
"""Templates that say that something is being worked out, and show it in that very place."""
SEEN = {
    "exam_watch": ("exam_watch",),
    "examine": ("examine",),
    "found_later": ("found_later_signed",),
    "mark_sheets": ("mark_sheets",),
    "paper": ("letter", "summary"),
    "practice_run": ("practice_run_open", "practice_run_standing", "practice_run_walking"),
    "signed": ("signed",),
    "visit": ("visit_open", "visit_disputed"),
}
"""Every other template with a script of its own, and where it is seen."""
BY_NAME = {sight.name: sight for sight in sights()}

_AT_FOOT = """() => {
  const at = document.elementFromPoint(innerWidth / 2, innerHeight - 12);
  return at.closest("#tells") ? "the line" : "what was there";
}"""
_NOTED = """window.seen = [];
addEventListener("DOMContentLoaded", () => {
  new MutationObserver(() => requestAnimationFrame(() => setTimeout(() => seen.push((%s)())))).observe(
    document.getElementById("keeping"), { attributes: true, attributeFilter: ["hidden"] });
});"""


def waiting(open_page: OpenPage, width: int, height: int) -> Page:
    """A device on which an entry of somebody else waits, on a slow line."""
    page = open_page(width=width, height=height)
    page.goto("/help/")
    let_entry_wait(page)
    watch_moving(page)
    slow_down(page, LATENCY_MS)
    return page


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", [name for each in SEEN.values() for name in each])
def test_nothing_moves_by_itself(open_page: OpenPage, clinic: Clinic, name: str, width: str) -> None:
    """On a slow line a page is drawn before its scripts have come; what they add moves nothing in sight."""
    page = open_page(width=WIDTHS[width][0], height=WIDTHS[width][1])
    watch_moving(page)
    slow_down(page, LATENCY_MS)
    BY_NAME[name].show(page, clinic)
    page.wait_for_load_state("networkidle")
    much, what = moved(page)
    assert much <= AT_MOST, what


def test_every_page_with_a_script_of_its_own_is_watched() -> None:
    """A template that is new belongs to one of these."""
    pages = files("fabella.web") / "pages"
    scripted = {
        each.name.removesuffix(".html")
        for each in pages.iterdir()
        if each.name.endswith(".html") and 'type="module"' in each.read_text("utf-8")
    }
    assert scripted == {*SEEN, *AFTER_A_TOUCH, *WORKED_OUT}


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["help", "patients", "visit_open", "practice_run_open", "mark_sheets"])
def test_what_waits_on_a_device_is_told_and_moves_nothing(
    open_page: OpenPage, clinic: Clinic, name: str, width: str
) -> None:
    """The line stands in sight on any page, above what is at hand, and leaves everything in its place."""
    page = waiting(open_page, *WIDTHS[width])
    BY_NAME[name].show(page, clinic)
    line = page.locator("#keeping")
    until(page, lambda: line.is_visible() and "waits on this device until ben logs in" in line.inner_text())
    page.wait_for_load_state("networkidle")
    much, what = moved(page)
    assert much <= AT_MOST, what
    box, seen = line.bounding_box(), page.viewport_size
    assert box is not None
    assert seen is not None
    hand = page.locator(".hand, .at-hand")
    foot = hand.bounding_box() if hand.count() else None
    assert abs(box["y"] + box["height"] - (foot["y"] if foot else seen["height"])) < 2


@pytest.mark.parametrize("name", ["help", "add_patient"])
def test_the_end_of_a_page_comes_clear_of_the_line(open_page: OpenPage, clinic: Clinic, name: str) -> None:
    """A long page and a short one can be scrolled until their last line stands above it."""
    page = waiting(open_page, *WIDTHS["phone"])
    BY_NAME[name].show(page, clinic)
    page.locator("#keeping").wait_for()
    page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    page.wait_for_timeout(200)
    foot, line = page.locator(".foot").bounding_box(), page.locator("#tells").bounding_box()
    assert foot is not None
    assert line is not None
    assert foot["y"] + foot["height"] <= line["y"] + 1


def test_a_touch_on_its_way_reaches_what_it_was_meant_for(open_page: OpenPage) -> None:
    """For a moment the line lets touches through; afterwards it takes those that are meant for it."""
    page = waiting(open_page, *WIDTHS["phone"])
    page.add_init_script(_NOTED % _AT_FOOT)
    page.goto("/help/")
    page.locator("#keeping").wait_for()
    until(page, lambda: bool(page.evaluate("seen.length")))
    assert page.evaluate("seen[0]") == "what was there"
    until(page, lambda: page.evaluate(_AT_FOOT) == "the line")
