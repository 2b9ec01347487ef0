"""Everybody can use every page: in either room, on a phone, by keyboard, read aloud, on a slow line."""

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.chromium import THEMES, Watch, new_device
from tests.browser.clinics import Clinic
from tests.browser.loading import Scales
from tests.browser.seeing import (
    faint,
    small_fields,
    strange_tones,
    too_wide,
    unfold,
    violations,
    walk_by_keyboard,
)
from tests.browser.sights import (
    GUARDED,
    INVENTED,
    PARTS_OF_PAGES,
    SIGNING_ON,
    Sight,
    is_no_page,
    pages,
    sights,
)
from tests.web.hands import Browser as Hands
from tests.web.walking import routes

SIGHTS = sights()
WEIGHT_KB = 350
_FIXTURES = {GUARDED: "guarded_clinic", SIGNING_ON: "clinic_with_sign_on"}

_WAYS_BACK = """() => {
  scrollTo(0, 0);
  const others = [...document.querySelectorAll("a[href], button, input, summary")];
  return [...document.querySelectorAll(".crumb a")].flatMap((each) => {
    const { x, y, width, height } = each.getBoundingClientRect();
    const covered = others.filter((other) => !other.contains(each) && other.checkVisibility()
      && [...other.getClientRects()].some((at) => at.bottom > y + 1 && at.top < y + height - 1
        && at.right > x + 1 && at.left < x + width - 1));
    return [...(height < 43.5 ? [`${height} px: ${each.textContent}`] : []),
      ...covered.map((other) => `${each.textContent} covers ${other.textContent}`)];
  });
}"""


@dataclass(frozen=True, slots=True)
class Shown:
    """A page on a device that had seen none before, and the scales under it."""

    page: Page
    scales: Scales


@pytest.fixture(scope="module", params=SIGHTS, ids=lambda sight: sight.name)
def shown(browser: Browser, clinic: Clinic, request: pytest.FixtureRequest) -> Iterator[Shown]:
    """A sight, opened once for all that is asked of it."""
    sight: Sight = request.param
    where = clinic if sight.clinic == INVENTED else request.getfixturevalue(_FIXTURES[sight.clinic])
    device, watch = new_device(browser, where.origin, worker=False), Watch()
    watch.attend(device, where.origin)
    sight.let_refuse(watch)
    page = device.new_page()
    scales = Scales(page)
    sight.show(page, where)
    yield Shown(page, scales)
    device.close()
    watch.check()


def test_the_keyboard_reaches_everything(shown: Shown) -> None:
    """Tab leads to all that can be worked, outlined and in view, and first to a link past the masthead."""
    shown.page.set_viewport_size({"width": 1280, "height": 800})
    assert walk_by_keyboard(shown.page) == []


def test_a_page_weighs_little(shown: Shown) -> None:
    """Page, styles, scripts and pictures of a first visit are at most 350 kB on the wire with all headers."""
    assert len(shown.scales.bytes_by_path) > 2
    assert shown.scales.kb <= WEIGHT_KB, shown.scales.bytes_by_path


def test_the_accessibility_engine_finds_nothing(shown: Shown) -> None:
    """Light and dark, on a desk and on a phone, no rule of WCAG 2.2 AA that a machine can check is broken."""
    page = shown.page
    unfold(page)
    page.set_viewport_size({"width": 1280, "height": 844})
    page.emulate_media(color_scheme="light")
    assert violations(page) == []
    page.emulate_media(color_scheme="dark")  # where nothing but colours differs
    assert faint(page) == []
    page.set_viewport_size({"width": 390, "height": 844})
    assert faint(page) == []
    page.emulate_media(color_scheme="light")
    assert faint(page) == []
    assert violations(page, but_of_colours=True) == []


def test_drawings_take_the_tones_of_the_room(shown: Shown) -> None:
    """In a dark room nothing drawn keeps the colours of paper, nor in a light one those of the dark."""
    unfold(shown.page)
    for theme in THEMES:
        shown.page.emulate_media(color_scheme=theme)
        assert strange_tones(shown.page) == [], theme


def test_nothing_scrolls_sideways(shown: Shown) -> None:
    """On a phone of 360 px a page is not wider than the screen, whatever is unfolded."""
    unfold(shown.page)
    shown.page.set_viewport_size({"width": 360, "height": 740})
    assert too_wide(shown.page) == []


def test_nothing_is_enlarged_to_be_typed_into(shown: Shown) -> None:
    """On a phone every field has letters of 16 px or more: below that some phones enlarge the whole page."""
    unfold(shown.page)
    shown.page.set_viewport_size({"width": 360, "height": 740})
    assert small_fields(shown.page) == []


def test_the_way_back_fits_a_thumb(shown: Shown) -> None:
    """What leads from a page to the one above it is 44 px high, and covers no part of another link."""
    shown.page.set_viewport_size({"width": 390, "height": 844})
    assert shown.page.evaluate(_WAYS_BACK) == []


def test_every_page_is_seen(clinic: Clinic) -> None:
    """Each address that can be looked at is a sight; each that is left out leads to no whole page."""
    assert {route.name for route in pages()} == {sight.route for sight in SIGHTS if sight.route}
    assert PARTS_OF_PAGES <= {route.name for route in routes()}
    hands = Hands(clinic.server.port)
    for route in routes():
        if is_no_page(route):
            status, _, body = hands.ask("GET", route.address)
            assert status != 200 or b"<html" not in body, route.name
    hands.close()
