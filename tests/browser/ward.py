"""A clinic at the end of a wire: the server can be killed and started again, the wire be cut and mended."""

from __future__ import annotations

import re
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page

from fabella.protocol import load_protocol
from tests.browser.clinics import PASSWORD
from tests.browser.wire import Wire
from tests.web.hands import Browser, Server, data_of

ITEMS = [sign.id for sign in load_protocol().history() if sign.scale.measure is None]
"""Questions that are answered with yes or no."""

LAX = {"sign": "lachman", "side": "right", "state": "abnormal", "level": "2+"}

_OPEN = """async (visit) => {
  const { author, device } = document.body.dataset;
  const beside = document.querySelector("script[src$='keeping.js']").src;
  const { openOutbox } = await import(new URL("outbox.js", beside));
  window.told = { answers: [], states: [], added: [] };
  window.box = await openOutbox({
    visit, author, device, address: `/api/visits/${visit}/operations`,
    added: (operations) => told.added.push(...operations.map((each) => each.id)),
    answered: (answer) => told.answers.push(...answer.results),
    state: (kind, waiting, more) => told.states.push({ kind, waiting, ...more }),
  });
  const state = await fetch(`/api/visits/${visit}`).then((answer) => answer.json(), () => ({}));
  box.above(state.version ?? 0);
}"""


class Ward:
    """A server on a folder, and the wire to it."""

    def __init__(self, data: Path, **flaws: Any) -> None:
        self.data, self._patients = data, 0
        self.server = Server(*data_of(data))
        self.wire = Wire(self.server.port, **flaws)

    @property
    def origin(self) -> str:
        """Where a browser finds it, whichever server is behind."""
        return "http:" + f"//127.0.0.1:{self.wire.port}"

    def start(self) -> None:
        """Start a server again on the same folder."""
        self.server = Server(*data_of(self.data))
        self.wire.target = self.server.port

    def new_visit(self) -> int:
        """Add a patient with a visit, and return its number; its version is 1."""
        self._patients += 1
        hands = Browser(self.server.port)
        found = re.search("/visits/([0-9]+)", hands.new_visit(self._patients))
        hands.close()
        assert found is not None
        return int(found[1])

    def entries(self, visit: int) -> list[tuple[str, str]]:
        """The operations of a visit and their authors, in order, but for those it began with."""
        with closing(sqlite3.connect(f"file:{self.data / 'clinic.sqlite3'}?mode=ro", uri=True)) as file:
            rows = file.execute(
                "SELECT operation, author FROM clinic_entry WHERE visit_id = ? ORDER BY version", [visit]
            )
            return [(str(name), str(author)) for name, author in rows if not name.startswith("begun-with-")]

    def ids(self, visit: int) -> list[str]:
        """The operations of a visit, in order."""
        return [name for name, _ in self.entries(visit)]

    def trail(self) -> str:
        """What the check of the trail says to whoever sits at the server."""
        hands = Browser(self.server.port)
        _, _, page = hands.ask("POST", "/administration/", "", "application/x-www-form-urlencoded")
        hands.close()
        return page.decode()


@contextmanager
def running_ward(data: Path, **flaws: Any) -> Iterator[Ward]:
    """Run a clinic at the end of a wire."""
    ward = Ward(data, **flaws)
    try:
        yield ward
    finally:
        ward.wire.close()
        ward.server.kill()


def opened(device: BrowserContext, visit: int) -> Page:
    """A page that has the outbox of a visit open."""
    page = device.new_page()
    page.goto("/help/")
    open_outbox(page, visit)
    return page


def open_outbox(page: Page, visit: int) -> None:
    """Open the outbox of a visit, as the page of an examination does; in the page it is `box`."""
    page.evaluate(_OPEN, visit)


def add(page: Page, *changes: dict[str, Any]) -> list[str]:
    """Add changes, and return their ids once they are on the disk."""
    ids: list[str] = page.evaluate(
        "async (all) => (await box.add(all)).map((each) => each.id)", list(changes)
    )
    return ids


def answer_to(item: str, value: object, base: int = 0) -> dict[str, Any]:
    """A change that answers a question of the history."""
    return {"base": base, "change": "set_history", "item": item, "value": value}


def until(page: Page, true: Callable[[], bool], seconds: float = 30) -> None:
    """Wait, while the page goes on, until something is true; fail when it does not become so."""
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "waited too long"
        page.wait_for_timeout(30)


def until_arrived(*pages: Page, seconds: float = 60) -> None:
    """Wait until nothing waits any more."""
    for page in pages:
        until(page, lambda page=page: page.evaluate("box.waiting().number") == 0, seconds)  # type: ignore[misc]


def until_kind(page: Page, kind: str) -> None:
    """Wait until the status line is of a kind."""
    until(page, lambda: bool(page.evaluate("told.states.at(-1).kind") == kind))


def log_in(page: Page, name: str) -> None:
    """Say who one is."""
    page.goto("/login/")
    page.fill("[name=name]", name)
    page.fill("[name=password]", PASSWORD)
    page.locator("main button").click()
    page.wait_for_selector("form[action='/logout/']")


def leave(page: Page) -> None:
    """Log out."""
    page.goto("/help/")
    page.locator("form[action='/logout/'] button").click()
    page.wait_for_url("**/login/")
