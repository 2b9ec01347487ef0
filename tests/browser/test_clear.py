"""What is focused comes clear of what lies over the foot of a page, on small screens too."""

from __future__ import annotations

import pytest

from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage
from tests.browser.moving import let_entry_wait
from tests.browser.sights import sights

SCREENS = {"phone": (390, 844), "turned": (844, 390), "small": (320, 568)}
BY_NAME = {sight.name: sight for sight in sights()}

_COVERED = """() => {
  const covered = [];
  for (const each of document.querySelectorAll("a[href], button, input, select, textarea, summary")) {
    if (!each.checkVisibility({ visibilityProperty: true }) || each.disabled || each.type === "hidden"
        || each.closest("#tells, .hand, .at-hand, .skip")) continue;
    each.focus();
    const box = each.getClientRects()[0];
    if (!box) continue;
    const x = Math.min(innerWidth - 2, Math.max(1, box.left + box.width / 2));
    const there = document.elementFromPoint(x, box.top + Math.min(box.height / 2, 20));
    if (there?.closest("#tells, .hand, .at-hand")) covered.push(each.textContent.trim() || each.name);
  }
  return covered;
}"""


@pytest.mark.parametrize(
    ("name", "screen"),
    [*(("examine", each) for each in SCREENS), ("practice_run_open", "turned"), ("mark_sheets", "small")],
)
def test_what_is_focused_comes_clear(open_page: OpenPage, clinic: Clinic, name: str, screen: str) -> None:
    """Whoever goes from part to part sees where he is, above what is at hand and the line that tells late."""
    page = open_page(width=SCREENS[screen][0], height=SCREENS[screen][1])
    page.goto("/help/")
    let_entry_wait(page)
    BY_NAME[name].show(page, clinic)
    page.wait_for_load_state("networkidle")
    assert page.locator("#keeping:not([hidden]), .kept:has-text('until ben logs in')").count()
    assert page.evaluate(_COVERED) == []
