import re
from contextlib import closing
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from fabella.measure.walking_contacts import Contact, Foot, steady
from fabella.measure.walking_pace import Timing, pace
from tests.browser.chromium import Theme, new_device
from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage
from tests.browser.hand import Hand, examination_of, finding, new_visit, open_examination
from tests.browser.seeing import violations
from tests.browser.ward import running_ward, until
from tests.measure.walkers import drawn_contacts

BEAT_MS = 380
COMPUTED = """async (walks) => {
    const loaded = performance.getEntriesByType("resource").map((each) => each.name);
    const name = loaded.find((each) => /bedside_pace/.test(each));
    const { pace } = await import(name);
    return walks.map(pace);
}"""


def at_the_taps(clinic: Clinic, page: Page, *, number: str) -> int:
    """Begin a visit and open the buttons on which steps are tapped."""
    visit = new_visit(clinic, page, number=number)
    page.locator("#find-sign").fill("cadence")
    page.locator("#found-signs button").first.click()
    Hand(page).cell("cadence", "person")
    page.locator(".taps summary").click()
    return visit


def walk(page: Page, taps: int, *, first: str = "l") -> None:
    """Tap with the keys, the feet in turns, a step every 380 ms or a little later."""
    for number in range(taps):
        page.keyboard.press(first if number % 2 == 0 else "r" if first == "l" else "l")
        page.wait_for_timeout(BEAT_MS)


def test_the_page_computes_what_the_library_does(clinic: Clinic, page: Page) -> None:
    """Cadence, difference, errors and what was left out are the library's, whatever is wrong with taps."""
    at_the_taps(clinic, page, number="N-116-1")
    dice = np.random.default_rng(7)
    walks = []
    for number in range(12):
        contacts = drawn_contacts(dice, steps=13 + 2 * number, walker_s=0.02, jitter_s=0.004 * number)
        if number % 3 == 1:
            del contacts[6]
            contacts.append(Contact(foot=contacts[3].foot, at_s=contacts[3].at_s + 0.1))
        if number % 3 == 2:
            contacts[7] = Contact(foot=contacts[7].foot.other, at_s=contacts[7].at_s)
            late = contacts[-8].at_s
            contacts = [Contact(foot=e.foot, at_s=e.at_s + (2.5 if e.at_s > late else 0)) for e in contacts]
        walks.append(contacts)
    sent = [[{"foot": str(each.foot), "at": each.at_s} for each in walk] for walk in walks]
    computed = page.evaluate(COMPUTED, sent)
    told = 0
    for contacts, found in zip(walks, computed, strict=True):
        part = steady(contacts, ends=2)
        expected = pace(part, timing=Timing.TAPS)
        assert found["steps"] == expected.cadence_per_min.n
        assert found["told"] == list(part.told)
        assert found["cadence"] == pytest.approx(expected.cadence_per_min.value, rel=1e-9)
        assert found["cadenceError"] == pytest.approx(expected.cadence_per_min.error, rel=1e-5)
        assert found["difference"] == pytest.approx(expected.difference_s.value, rel=1e-9)
        assert found["differenceError"] == pytest.approx(expected.difference_s.error, rel=1e-5)
        assert found["asymmetry"] == pytest.approx(expected.asymmetry_pct.value, rel=1e-9)
        told += len(part.told) - 1
    assert told >= 12


def test_tapped_steps_become_the_cadence(clinic: Clinic, page: Page) -> None:
    """Thirteen taps with the keys, stopped and kept, are the cadence with its method and error."""
    visit = at_the_taps(clinic, page, number="N-116-2")
    walk(page, 14)
    page.get_by_role("button", name="Undo the last tap").click()
    expect(page.locator(".paced")).to_contain_text("of 8 steps")
    keep = page.locator(".taps button.main")
    expect(keep).to_be_disabled()
    page.get_by_role("button", name="Stop").click()
    expect(keep).to_be_focused()
    shown = re.match(r"([\d.]+) ± [\d.]+ steps a minute", page.locator(".paced").inner_text())
    assert shown is not None
    assert 60 < float(shown[1]) <= 60_000 / BEAT_MS
    assert "first and last two taps" in page.locator(".how").inner_text()
    keep.click()
    page.wait_for_selector("#kept:text-is('Saved')")
    stated = finding(examination_of(clinic, visit), "cadence", None)
    assert stated is not None
    assert stated["value"] == float(shown[1])
    assert (stated["unit"], stated["method"]) == ("steps/min", "taps at heel strike")
    assert re.fullmatch(r"standard error [\d.]+ steps/min, of 8 steps", stated["note"])
    assert "state" not in stated


def test_what_was_tapped_outlasts_a_page_that_is_loaded_again(clinic: Clinic, page: Page) -> None:
    """Taps not kept stand there when the page comes back; what they would replace is named before it goes."""
    visit = at_the_taps(clinic, page, number="N-116-3")
    page.locator(".keypad .value:text-is('90 steps/min')").click()
    page.wait_for_selector("#kept:text-is('Saved')")
    Hand(page).cell("cadence", "person")
    page.locator(".taps summary").click()
    walk(page, 12, first="r")
    open_examination(clinic, page, visit)
    page.locator("#find-sign").fill("cadence")
    page.locator("#found-signs button").first.click()
    Hand(page).cell("cadence", "person")
    expect(page.locator(".taps button.main")).to_have_text(re.compile(r"Keep [\d.]+ instead of 90"))
    page.get_by_role("button", name="Start again").click()
    expect(page.locator(".paced")).to_have_text("0 taps; 0 steady steps of the six that are needed.")
    stated = finding(examination_of(clinic, visit), "cadence", None)
    assert stated is not None
    assert stated["value"] == 90


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_taps_on_a_phone(clinic: Clinic, open_page: OpenPage, theme: Theme) -> None:
    """The two feet are large, stand as one faces the patient, count touches, and can be used by everybody."""
    page = open_page(width=390, height=844, theme=theme)
    at_the_taps(clinic, page, number=f"N-116-{theme}")
    boxes = [page.locator(".taps .foot", has_text=words).bounding_box() for words in ("Right", "Left")]
    assert all(each is not None and each["width"] >= 140 and each["height"] >= 110 for each in boxes)
    for one, following in pairwise(each for each in boxes if each is not None):
        assert one["x"] + one["width"] <= following["x"]
    for number in range(4):
        page.locator(".taps .foot", has_text="Right" if number % 2 else "Left").click()
    expect(page.locator(".paced")).to_have_text("4 taps; 0 steady steps of the six that are needed.")
    assert violations(page) == []
    page.get_by_role("button", name="Stop").click()
    assert violations(page) == []
    assert Foot.RIGHT in page.locator(".taps .foot").first.inner_text().lower()


def test_steps_are_tapped_without_a_connection(browser: Browser, tmp_path: Path) -> None:
    """With the wire cut, on a page loaded again, taps are kept on the device and arrive with the wire."""
    with running_ward(tmp_path) as ward, closing(new_device(browser, ward.origin)) as device:
        visit = ward.new_visit()
        page = device.new_page()
        page.goto(f"/visits/{visit}/examine/")
        page.wait_for_selector("html[data-ready]")
        kept = "async (path) => Boolean(await caches.match(path))"
        until(page, lambda: bool(page.evaluate(kept, f"/visits/{visit}/examine/")))
        ward.wire.cut()
        page.reload()
        page.wait_for_selector("html[data-ready]")
        page.locator("#find-sign").fill("cadence")
        page.locator("#found-signs button").first.click()
        Hand(page).cell("cadence", "person")
        page.locator(".taps summary").click()
        walk(page, 12)
        page.get_by_role("button", name="Stop").click()
        page.locator(".taps button.main").click()
        until(page, lambda: page.locator("#kept").inner_text().startswith("No connection: "))
        assert ward.ids(visit) == []
        ward.wire.mend()
        page.wait_for_selector("#kept:text-is('Saved')", timeout=60_000)
        assert ward.ids(visit)
