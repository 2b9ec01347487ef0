"""Everybody can use every page: in either room, on a phone, by keyboard, with what reads it aloud."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.chromium import THEMES, Watch, new_device
from tests.browser.clinics import Clinic
from tests.browser.seeing import too_wide, violations, walk_by_keyboard
from tests.browser.sights import NO_PAGES, Sight, pages, sights
from tests.web.hands import Browser as Hands
from tests.web.walking import routes

SIGHTS = sights()


@pytest.fixture(scope="module", params=SIGHTS, ids=lambda sight: sight.name)
def shown(browser: Browser, clinic: Clinic, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A page on a device of its own, opened once for all that is asked of it."""
    sight: Sight = request.param
    where = request.getfixturevalue("guarded_clinic") if sight.needs_accounts else clinic
    device, watch = new_device(browser, where.origin), Watch()
    watch.attend(device, where.origin)
    if sight.status >= 400 or sight.then:
        watch.forgive("responded with a status of 4")
    page = device.new_page()
    sight.show(page, where)
    yield page
    device.close()
    watch.check()


def test_the_accessibility_engine_finds_nothing(shown: Page) -> None:
    """Light and dark, on a desk and on a phone, no rule of WCAG 2.2 AA that a machine can check is broken."""
    for width in (1280, 390):
        shown.set_viewport_size({"width": width, "height": 844})
        for theme in THEMES:  # they differ in colours alone
            shown.emulate_media(color_scheme=theme)
            assert violations(shown, only_colours=theme == "dark") == [], (width, theme)


def test_nothing_scrolls_sideways(shown: Page) -> None:
    """On a phone of 360 px a page is not wider than the screen."""
    shown.set_viewport_size({"width": 360, "height": 740})
    assert too_wide(shown) == []


def test_the_keyboard_reaches_everything(shown: Page) -> None:
    """Tab leads to all that can be worked, outlined and in view, and first to a link past the masthead."""
    shown.set_viewport_size({"width": 1280, "height": 800})
    assert walk_by_keyboard(shown) == []


def test_every_page_is_seen(clinic: Clinic) -> None:
    """Each address that can be looked at is a sight; each that is left out leads to no whole page."""
    assert {route.name for route in pages()} == {sight.route for sight in SIGHTS if sight.route}
    assert NO_PAGES <= {route.name for route in routes()}
    hands = Hands(clinic.server.port)
    for route in routes():
        if route.name in NO_PAGES:
            status, _, body = hands.ask("GET", route.address)
            assert status == 200
            assert b"<html" not in body, route.name
    hands.close()
