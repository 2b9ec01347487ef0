"""What one person entered is never sent while somebody else is logged in."""

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext

from tests.browser.chromium import new_device
from tests.browser.clinics import open_account
from tests.browser.ward import (
    ITEMS,
    Ward,
    add,
    answer_to,
    leave,
    log_in,
    open_outbox,
    running_ward,
    until,
    until_arrived,
    until_kind,
)


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ward]:
    """A clinic where ann and ben have accounts; visits 1 and 2 are open."""
    data: Path = tmp_path_factory.mktemp("ward")
    with running_ward(data) as running:
        assert [running.new_visit(), running.new_visit()] == [1, 2]
        for name in ("ann", "ben"):
            open_account(data, name, "clinician")
        yield running


@pytest.fixture
def device(browser: Browser, ward: Ward) -> Iterator[BrowserContext]:
    """A device that both use."""
    ward.wire.mend()
    with closing(new_device(browser, ward.origin)) as made:
        yield made


def test_nothing_is_sent_under_another_name(ward: Ward, device: BrowserContext) -> None:
    """What ann entered without a connection waits, as ben is told, and goes when she logs in again."""
    page = device.new_page()
    log_in(page, "ann")
    page.goto("/help/")
    open_outbox(page, 1)
    ward.wire.cut()
    ids = add(page, *(answer_to(item, value=True) for item in ITEMS[:3]))
    until_kind(page, "waiting")
    assert page.evaluate("told.states.at(-1).waiting") == 3

    other = device.new_page()
    page.close()
    device.clear_cookies(name="fabella_session")  # as when the session has ended
    ward.wire.mend()
    other.goto("/login/")
    line = "3 entries by ann wait on this device until ann logs in here."
    until(other, lambda: other.locator("#keeping").inner_text() == line)
    log_in(other, "ben")
    other.goto("/help/")
    open_outbox(other, 1)
    (own,) = add(other, answer_to(ITEMS[5], value=False))
    until_arrived(other)
    assert ward.entries(1) == [(own, "ben")]
    assert other.evaluate("told.states.at(-1).others") == [{"author": "ann", "number": 3}]
    leave(other)
    log_in(other, "ann")
    until(other, lambda: len(ward.entries(1)) == 4)
    assert ward.entries(1) == [(own, "ben"), *((each, "ann") for each in ids)]


def test_a_page_left_open_sends_nothing_for_whoever_logged_in_since(
    ward: Ward, device: BrowserContext
) -> None:
    """Ann's page, open in one window while ben logs in in another, is shut out until she is back."""
    page, other = device.new_page(), device.new_page()
    log_in(page, "ann")
    page.goto("/help/")
    open_outbox(page, 2)
    leave(other)
    log_in(other, "ben")
    (made,) = add(page, answer_to(ITEMS[0], value=True))
    until_kind(page, "shut_out")
    assert ward.entries(2) == []
    leave(other)
    log_in(other, "ann")
    until(other, lambda: ward.entries(2) == [(made, "ann")])
