"""The system's Firefox, spoken to in the W3C's WebDriver BiDi, which it speaks without a driver."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from selenium.webdriver.remote.websocket_connection import WebSocketConnection

from tests.reference import need_reference

SECONDS = 30
_PROGRAMS = ("firefox-esr", "firefox")
_PREFERENCES = {
    "app.update.enabled": False,
    "browser.aboutwelcome.enabled": False,
    "browser.shell.checkDefaultBrowser": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
}
"""It asks nothing of anybody but of the server of the test."""
_LISTENS = re.compile(r"WebDriver BiDi listening on (ws://\S+)")
_CENTRE = """(selector) => {
  const found = [...document.querySelectorAll(selector)].find((each) => each.getClientRects().length);
  found.scrollIntoView({ block: "center" });
  const { x, y, width, height } = found.getBoundingClientRect();
  return [Math.round(x + width / 2), Math.round(y + height / 2)];
}"""


class Fox:
    """One window of it; ``complaints`` are the errors that pages threw."""

    def __init__(self, address: str) -> None:
        connect: Any = WebSocketConnection
        self._wire = connect(f"{address}/session", SECONDS, 0.01)
        self.complaints: list[str] = []
        self._wire.add_callback(_Logged, self.complaints.extend)
        self._ask("session.new", capabilities={})
        self._ask("session.subscribe", events=[_Logged.event_class])
        self._window = self._ask("browsingContext.getTree")["contexts"][0]["context"]

    def _ask(self, method: str, **params: object) -> dict[str, Any]:
        answer = self._wire.send_cmd(method, params)
        if "error" in answer:
            raise AssertionError(f"{method}: {answer['error']}: {answer['message']}")
        result: dict[str, Any] = answer["result"]
        return result

    def size(self, width: int, height: int) -> None:
        """Give the page a size in pixels."""
        viewport = {"width": width, "height": height}
        self._ask("browsingContext.setViewport", context=self._window, viewport=viewport)

    def go(self, address: str) -> None:
        """Open a page."""
        self._ask("browsingContext.navigate", context=self._window, url=address, wait="complete")

    def told(self, function: str, *given: str) -> Any:  # whatever the page says
        """Return what a function of the page returns, waited for."""
        asked = f"async (...given) => JSON.stringify((await ({function})(...given)) ?? null)"
        answer = self._ask(
            "script.callFunction",
            functionDeclaration=asked,
            awaitPromise=True,
            target={"context": self._window},
            arguments=[{"type": "string", "value": each} for each in given],
        )
        if answer["type"] != "success":
            raise AssertionError(answer["exceptionDetails"]["text"])
        return json.loads(answer["result"]["value"])

    def touch(self, selector: str) -> None:
        """Press the first thing that is shown there."""
        x, y = self.told(_CENTRE, selector)
        presses = [{"type": "pointerMove", "x": x, "y": y}]
        presses += [{"type": kind, "button": 0} for kind in ("pointerDown", "pointerUp")]
        hand = {"type": "pointer", "id": "hand", "actions": presses}
        self._ask("input.performActions", context=self._window, actions=[hand])

    def until(self, true: Callable[[], object]) -> None:
        """Wait until something is true; fail when it does not become so."""
        end = time.monotonic() + SECONDS
        while not true():
            assert time.monotonic() < end, "waited too long"
            time.sleep(0.05)

    def close(self) -> None:
        """Speak to it no more.

        When its own farewell is read first, the library takes the connection for closed and leaves it open.
        """
        line = self._wire._ws.sock
        self._ask("session.end")
        self._wire.close()
        line.shutdown()


class _Logged:
    """What a page wrote on the console or threw."""

    event_class = "log.entryAdded"

    @staticmethod
    def from_json(said: dict[str, Any]) -> list[str]:
        """Return the words of an error that a script threw; nothing of anything else."""
        thrown = said["type"] == "javascript" and said["level"] == "error"
        thrown = thrown and not said["text"].startswith("Failed to load")  # a connection that is cut
        return [str(said["text"])] if thrown else []


@contextmanager
def firefox(home: Path) -> Iterator[Fox]:
    """Open it without a screen and with a home of its own; skip loudly, or fail, where there is none."""
    program = next(filter(None, map(shutil.which, _PROGRAMS)), None)
    need_reference("Firefox", available=program is not None, how_to_install="sh tools/system_packages.sh")
    home.mkdir()
    lines = [f"user_pref({json.dumps(name)}, {json.dumps(value)});" for name, value in _PREFERENCES.items()]
    (home / "user.js").write_text("\n".join(lines), "utf-8")
    command = [str(program), "--headless", "--no-remote", "--profile", str(home), "--remote-debugging-port=0"]
    log = home / "said"
    with log.open("w") as said:
        running = subprocess.Popen(command, stdout=said, stderr=said, env={**os.environ, "HOME": str(home)})
    try:
        end = time.monotonic() + SECONDS
        while not (found := _LISTENS.search(log.read_text("utf-8", errors="replace"))):
            assert time.monotonic() < end, log.read_text("utf-8", errors="replace")
            time.sleep(0.05)
        with closing(Fox(found[1])) as fox:
            yield fox
    finally:
        running.terminate()
        running.wait(SECONDS)
