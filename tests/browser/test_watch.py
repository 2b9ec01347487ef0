"""Whether the watch over pages sees what it is there to see."""

import pytest
from playwright.sync_api import Error, Page

from tests.browser.chromium import Watch
from tests.browser.clinics import STATES, Clinic


@pytest.mark.parametrize(
    ("script", "words"),
    [
        ("document.body.append(Object.assign(document.createElement('style'), {textContent: 'p {}'}))", "style-src"),  # noqa: E501
        ("fetch('http:' + '//192.0.2.1/').catch(() => 0)", "connect-src"),
        ("console.error('something broke')", "something broke"),
        ("setTimeout(() => nowhere())", "nowhere is not defined"),
    ],
    ids=["inline style", "another machine", "console", "script"],
)  # fmt: skip
def test_what_no_page_may_do_is_noted(page: Page, watch: Watch, script: str, words: str) -> None:
    """A broken content policy, an error on the console and one in a script fail a test."""
    page.goto("/")
    watch.check()
    page.evaluate(f"() => {{ {script}; return new Promise(done => setTimeout(done, 200)); }}")
    with pytest.raises(AssertionError, match=words):
        watch.check()
    watch.forgive("")


def test_the_invented_clinic_has_visits_in_every_state(clinic: Clinic, page: Page) -> None:
    """An open, a disputed, a signed and an amended visit are there, and each has a page."""
    for state in STATES:
        answer = page.goto(clinic.address("visit", visit_id=clinic.visit(state)))
        assert answer is not None
        assert answer.status == 200


def test_nothing_but_this_machine_can_be_reached(page: Page, watch: Watch) -> None:
    """The browser itself knows no other machine, and the attempt to ask one is noted."""
    with pytest.raises(Error, match="ERR_NAME_NOT_RESOLVED"):
        page.goto("http:" + "//example.test/")
    with pytest.raises(AssertionError, match="asked another machine"):
        watch.check()
    watch.forgive("")
