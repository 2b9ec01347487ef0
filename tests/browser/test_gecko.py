"""The examination in Firefox: touched, cut off, loaded again, signed; and no script of a page throws."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.gecko import Fox, firefox
from tests.browser.ward import Ward, running_ward

PHONE_PX = 390, 844
COPIED = "() => caches.match(location.origin + location.pathname).then(Boolean)"
WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
PAGES = "/patients/new/", "/practice/", "/evidence/", "/teach/patients/new/", "/exams/", "/help/", "/mark/"


@pytest.fixture
def ward(tmp_path: Path) -> Iterator[Ward]:
    """A clinic at the end of a wire."""
    with running_ward(tmp_path / "ward") as running:
        yield running


@pytest.fixture
def fox(tmp_path: Path) -> Iterator[Fox]:
    """The browser, of the size of a phone."""
    with firefox(tmp_path / "fox") as running:
        running.size(*PHONE_PX)
        yield running


def read(fox: Fox, selector: str) -> str:
    """Return the words that stand there."""
    return str(fox.told("(selector) => document.querySelector(selector)?.innerText ?? ''", selector))


def at_hand(fox: Fox) -> None:
    """Touch the button that is always at hand; a second touch at once would be taken for a slip."""
    fox.told("() => new Promise((done) => setTimeout(done, 400))")
    fox.touch("#looked")


def examine(fox: Fox, address: str) -> None:
    """Open an examination and wait until it can be used, without a connection too."""
    fox.go(address)
    fox.until(lambda: fox.told("() => document.documentElement.dataset.ready"))
    fox.until(lambda: fox.told(COPIED))


def test_an_examination_in_firefox(ward: Ward, fox: Fox) -> None:
    """What is touched is kept, also while the wire is cut and over a page loaded again; and it is signed."""
    visit = ward.new_visit()
    address = f"{ward.origin}/visits/{visit}/examine/"
    examine(fox, address)
    at_hand(fox)  # consent
    fox.until(lambda: ward.ids(visit))
    kept = len(ward.ids(visit))
    ward.wire.cut()
    at_hand(fox)  # history
    at_hand(fox)  # standing
    fox.until(lambda: read(fox, "#kept").startswith("No connection"))
    waits = read(fox, "#kept")
    examine(fox, address)
    fox.until(lambda: read(fox, "#kept") == waits)
    cell = "#sign-varus_thrust .cell[data-side=right]"
    before = read(fox, cell)
    fox.touch(cell)
    fox.until(lambda: read(fox, cell) != before)
    assert len(ward.ids(visit)) == kept
    ward.wire.mend()
    fox.until(lambda: read(fox, "#kept") == "Saved")
    assert len(ward.ids(visit)) == len(set(ward.ids(visit))) > kept
    fox.go(f"{ward.origin}/visits/{visit}/letter/")
    fox.until(lambda: read(fox, "#kept") == "Everything is saved.")
    fox.go(f"{ward.origin}/visits/{visit}/sign/")
    fox.touch("main form button.main")
    fox.until(lambda: fox.told("() => location.pathname").endswith("/signed/1/"))
    assert fox.complaints == []


def test_pages_in_firefox(ward: Ward, fox: Fox) -> None:
    """On a phone no page is wider than the screen, and no script throws."""
    for page in PAGES:
        fox.go(ward.origin + page)
        assert read(fox, "h1"), page
        assert fox.told(WIDE) == 0, page
    assert fox.complaints == []
