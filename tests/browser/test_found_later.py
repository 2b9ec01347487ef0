"""What an operation showed, told on a phone with a thumb; and without any script."""

import re
from datetime import date, timedelta

from playwright.sync_api import Page, expect

from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage


def told_of(clinic: Clinic) -> tuple[str, str]:
    """The signed visit with most entries, and a day after it."""
    visit = clinic.visit("signed")
    day = date.fromisoformat(clinic.day("signed")) + timedelta(days=1)
    return clinic.address("found_later", visit_id=visit), day.isoformat()


def fill(page: Page, day: str) -> None:
    """State the look and one lesion, by what a thumb would touch."""
    page.get_by_label("left", exact=True).check()
    page.get_by_label("On which day?").fill(day)
    page.get_by_label("arthroscopy").check()
    page.get_by_role("radiogroup", name=re.compile("^posterior cruciate")).get_by_label("complete").check()


def states(page: Page, lesion: str) -> str:
    """What is stated of a lesion."""
    return page.locator(f"[name=is-{lesion}]:checked").get_attribute("value") or ""


def test_a_thumb_tells_it_without_leaving_the_page(clinic: Clinic, open_page: OpenPage) -> None:
    """One touch states the rest in place, one takes it back; what was kept stands on the visit."""
    page = open_page(width=390, height=844)
    address, day = told_of(clinic)
    page.goto(address)
    fill(page, day)
    page.evaluate("window.stayed = true")
    rest = page.locator("#group-first .rest")
    rest.get_by_role("button", name="The rest of these").click()
    back = rest.get_by_role("button", name=re.compile("^Take back the"))
    expect(back).to_be_focused()
    assert (states(page, "pcl_tear"), states(page, "acl_tear")) == ("complete", "absent")
    page.locator("[name=is-acl_tear][value=partial]").check()
    back.click()
    expect(back).to_have_count(0)
    assert [states(page, each) for each in ("pcl_tear", "acl_tear", "mcl_tear")] == [
        "complete",
        "partial",
        "",
    ]
    assert page.evaluate("window.stayed"), "the page was never loaded again"
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url("**/#found-later")
    told = page.locator(".look-told").last
    expect(told).to_contain_text("posterior cruciate ligament tear (complete)")
    expect(told).to_contain_text("anterior cruciate ligament tear (partial)")
    expect(told).not_to_contain_text("Not there")


def test_enter_in_a_field_keeps_the_form_and_fills_nothing(clinic: Clinic, open_page: OpenPage) -> None:
    """The key sends what was stated, as the button below does, and states no lesion as absent."""
    page = open_page(width=390, height=844)
    address, day = told_of(clinic)
    page.goto(address)
    fill(page, day)
    page.get_by_label("Who looked?").fill("Dr Made Up")
    page.get_by_label("Who looked?").press("Enter")
    page.wait_for_url("**/#found-later")
    told = page.locator(".look-told").last
    expect(told).to_contain_text("Dr Made Up")
    expect(told).not_to_contain_text("Not there")


def test_without_a_script_the_form_does_the_same(clinic: Clinic, plain: Page) -> None:
    """The rest is stated by loading the page again, at its group, with all that was typed."""
    address, day = told_of(clinic)
    plain.goto(address)
    fill(plain, day)
    plain.locator("#group-first .rest button").first.click()
    plain.wait_for_url("**/#group-first")
    assert (states(plain, "pcl_tear"), states(plain, "acl_tear")) == ("complete", "absent")
    assert plain.get_by_label("On which day?").input_value() == day
    plain.get_by_role("button", name="Keep it").last.click()
    expect(plain.locator(".look-told").last).to_contain_text("Not there: ")
