"""A clinic list on a phone: by keyboard, with the accessibility of each step; and without any script."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser.chromium import Watch
from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage
from tests.browser.seeing import too_wide, violations

WRONG = "number;name;birth date;sex\n{0}-1;Cy Ladle;01/02/1990;male\n{0}-2;Di Thimble;;\n"
RIGHT = WRONG.replace("01/02/1990", "1990-02-01")


def assert_fit(page: Page) -> None:
    """Everybody can use the page as it is shown, and it is no wider than the phone."""
    assert violations(page) == []
    assert too_wide(page) == []


def press_by_keyboard(page: Page, name: str) -> None:
    """Go on by Tab to a button, and press it."""
    button = page.get_by_role("button", name=name)
    for _ in range(40):
        page.keyboard.press("Tab")
        if button.evaluate("it => it === document.activeElement"):
            with page.expect_navigation():
                page.keyboard.press("Enter")
            return
    raise AssertionError(f"no Tab reaches {name}")


def test_a_list_is_mended_looked_at_and_kept_by_keyboard(
    clinic: Clinic, open_page: OpenPage, watch: Watch
) -> None:
    """What is wrong is told, what was typed stays, and one press adds everybody."""
    watch.forgive("responded with a status of 4")
    page = open_page(width=390, height=844)
    page.goto(clinic.address("add_patient"))
    page.get_by_role("link", name="Add several patients from a list").click()
    assert_fit(page)
    field = page.get_by_label("The list")
    field.fill(WRONG.format("PH"))
    field.focus()
    press_by_keyboard(page, "See what will happen")
    expect(page.get_by_role("alert")).to_contain_text("line 2, birth date: '01/02/1990' is no day")
    expect(field).to_have_value(WRONG.format("PH"))
    assert_fit(page)
    field.fill(RIGHT.format("PH"))
    press_by_keyboard(page, "See what will happen")
    expect(page.get_by_role("status")).to_have_text("2 new, 0 already there. Nothing is kept yet.")
    assert_fit(page)
    press_by_keyboard(page, "Add 2 patients")
    expect(page.get_by_role("status")).to_have_text("2 patients are added.")
    assert_fit(page)
    page.get_by_role("link", name="Cy Ladle").click()
    page.wait_for_url(re.compile(r"/patients/\d+/$"))
    expect(page.get_by_role("heading", level=1)).to_contain_text("Cy Ladle")


def test_without_a_script_a_file_does_the_same(clinic: Clinic, plain: Page, tmp_path: Path) -> None:
    """A file is looked at, kept, and, pressed again, adds nobody."""
    file = tmp_path / "list.csv"
    file.write_text("\ufeff" + RIGHT.format("PL"), "utf-8")
    plain.goto(clinic.address("add_patients"))
    plain.get_by_label("or a file").set_input_files(file)
    plain.get_by_role("button", name="See what will happen").click()
    plain.get_by_role("button", name="Add 2 patients").click()
    expect(plain.get_by_role("status")).to_have_text("2 patients are added.")
    plain.reload()  # which presses the button again
    expect(plain.get_by_role("status")).to_contain_text("nobody had to be added")
