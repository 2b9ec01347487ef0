"""A set built, a class opened, five students: what the teacher sees of them, and what not."""

import json
import re
from typing import Any

from playwright.sync_api import Page, expect

from fabella.store.school.sums import FEWEST
from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage


def build(page: Page) -> None:
    """Build a patient with a locked meniscus, and keep it in a new set."""
    page.goto("/teach/")
    page.get_by_role("link", name="Build a patient").click()
    page.get_by_label("Lesion", exact=True).select_option(label="medial meniscus tear, displaced (locking)")
    page.get_by_text("nothing else in that knee").click()
    page.get_by_label(re.compile("^Age in years")).fill("24")
    page.get_by_role("button", name="Show me this patient").click()
    expect(page.locator(".door")).to_contain_text("A 24-year-old")
    expect(page.locator(".truth")).to_contain_text("medial meniscus tear (displaced")
    expect(page.locator("#difficulty")).to_contain_text("an ideal examiner ends", timeout=30_000)
    page.get_by_label("Your name for it").fill("The locked one")
    page.get_by_label(re.compile("^Name of the new set")).fill("Knees that lock")
    page.get_by_role("button", name="Keep this patient").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Knees that lock")


def open_class(page: Page) -> str:
    """Give the set to a class, and return its code."""
    page.get_by_role("link", name="Open a class").click()
    page.get_by_label("Name of the class").fill("Tuesday group")
    page.get_by_label("5 minutes").check()
    page.get_by_role("button", name="Open the class").click()
    return page.locator(".board .code").inner_text()


def enter(page: Page, code: str) -> None:
    """Enter the code as it stands on the board, and call the first patient in."""
    page.goto("/class/")
    page.get_by_label("The code your teacher gave you").fill(code)
    page.get_by_role("button", name="Enter").click()
    page.get_by_role("button", name="Call the first patient in").click()
    page.wait_for_url("**/practice/runs/*/")


def finish(page: Page) -> None:
    """End the run at once, and read its debrief."""
    page.get_by_role("button", name="Finish, and be debriefed").click()
    page.wait_for_url("**/debrief/")
    expect(page.get_by_role("heading", name="One thing to practise next")).to_be_visible(timeout=30_000)


def sums(page: Page, address: str) -> Any:
    """What the teacher reads of the class."""
    page.goto(address)
    return page.locator("main")


def test_a_class_is_seen_as_sums_from_five_students_on(open_page: OpenPage, own_clinic: Clinic) -> None:
    """A student without an account plays by the code; the teacher learns what was missed from five on."""
    teacher = open_page(clinic=own_clinic)
    build(teacher)
    code, address = open_class(teacher), teacher.url
    student = open_page(width=390, height=844, clinic=own_clinic)
    enter(student, code)
    run = student.url
    expect(student.get_by_role("heading", level=1)).to_contain_text("A 24-year-old")
    student.locator("details.place > summary", has_text="Preparation").first.click()
    student.get_by_role("button", name="Exposure of both legs", exact=True).click()
    student.locator("details.place > summary", has_text="Special tests").first.click()
    button = student.get_by_role("button", name="Lachman test, right", exact=True)
    button.click()
    expect(button).to_have_attribute("data-done", "yes")
    finish(student)
    expect(student.locator("main")).to_contain_text("medial meniscus tear")
    student.get_by_role("link", name="Another patient").click()
    expect(student.locator("main")).to_contain_text("You have met every patient of this class")
    for _ in range(FEWEST - 2):
        another = open_page(width=390, height=844, clinic=own_clinic)
        enter(another, code)
        finish(another)
        answer = another.request.get(run)
        assert answer.status == 404, "a run is its student's alone"
    assert teacher.request.get(run).status == 404
    told = sums(teacher, address)
    expect(told).to_contain_text("Students who finished a patient4")
    expect(told).to_contain_text(f"summed up once {FEWEST} students have finished")
    expect(told).not_to_contain_text("Conduct")
    last = open_page(width=390, height=844, clinic=own_clinic)
    enter(last, code)
    finish(last)
    told = sums(teacher, address)
    expect(told).not_to_contain_text("summed up once")
    expect(told).to_contain_text("Conduct, what was kept least first")
    expect(told).to_contain_text("0 of 5")
    table = teacher.request.get(f"{address}sums.csv").text()
    assert "habit,consent,Asked for consent before touching,kept,0" in table
    assert json.dumps(code) not in table
