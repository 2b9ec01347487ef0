"""Whether the checks of every page see a fault that is there."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from tests.browser.seeing import faint, strange_tones, too_wide, violations, walk_by_keyboard

Check = Callable[[Page], list[str]]


@pytest.mark.parametrize(
    ("fault", "check", "words"),
    [
        ("find.tabIndex = -1", walk_by_keyboard, "not reached: BUTTON"),
        ("find.style.outline = 'none'", walk_by_keyboard, "has the focus unseen: BUTTON"),
        ("find.style.translate = '-100rem'", walk_by_keyboard, "out of sight: BUTTON"),
        ("document.querySelector('.skip').remove()", walk_by_keyboard, "does not lead to the content"),
        ("find.addEventListener('blur', () => find.focus())", walk_by_keyboard, "never leaves the page"),
        ("find.style.minWidth = '150vw'", too_wide, "BUTTON"),
        ("document.querySelector('label').remove(); input.placeholder = ''", violations, "label"),
        ("document.querySelector('h1').style.color = '#bbb'", violations, "color-contrast"),
        ("document.querySelector('h1').style.color = '#bbb'", faint, "color-contrast"),
        ("last.style.color = '#bbb'", faint, "color-contrast"),
        ("last.parentElement.style.background = '#444'", faint, "color-contrast"),
        ("find.innerHTML = '<svg><circle r=\"9\" fill=\"#191512\"/></svg>'", strange_tones, "rgb(25, 21"),
        ("find.innerHTML = '<svg><path d=\"M0 0H9\" stroke=\"#bbb\"/></svg>'", strange_tones, "rgb(187, 187"),
    ],
)  # fmt: skip
def test_a_fault_is_seen(page: Page, fault: str, check: Check, words: str) -> None:
    """What cannot be reached, seen, read, left or fitted on the screen is found, and nothing before."""
    page.goto("/patients/")
    assert check(page) == []
    page.reload()
    page.evaluate(
        f"""() => {{
          const find = document.querySelector("main form button");
          const input = document.querySelector("main input");
          const last = [...document.querySelectorAll("main a")].at(-1);
          {fault};
        }}"""
    )
    assert any(words in each for each in check(page))
