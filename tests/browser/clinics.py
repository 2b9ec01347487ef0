"""Servers to open in a browser: the real command in a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.urls import reverse

from tests.web.hands import Browser, Server, data_of

PASSWORD = "seven grey herons " + "wade"

States = dict[str, Callable[[dict[str, Any]], bool]]
STATES: States = {
    "open": lambda state: state["status"] == "open" and not state["conflicts"],
    "disputed": lambda state: bool(state["conflicts"]),
    "signed": lambda state: state["status"] == "signed",
    "amended": lambda state: len(state["signatures"]) > 1,
}
"""How a visit can stand, told from its state."""


@dataclass
class Clinic:
    """A running server; ``data`` is its folder."""

    server: Server
    data: Path
    _known: dict[str, int] = field(default_factory=dict)

    @property
    def origin(self) -> str:
        """Where it is, without a slash at the end."""
        return "http:" + f"//127.0.0.1:{self.server.port}"

    def address(self, name: str, **parts: object) -> str:
        """Return the path of a page, by its name in the route table."""
        return reverse(name, kwargs=parts)

    def visit(self, state: str) -> int:
        """Return the first visit that stands so; see `STATES`. Meant for the invented clinic."""
        if state not in self._known:
            self._look_for_states()
        return self._known[state]

    def _look_for_states(self) -> None:
        hands = Browser(self.server.port)
        visit = 0
        while set(self._known) != set(STATES):
            visit += 1
            status, _, body = hands.ask("GET", self.address("api_state", visit_id=visit))
            assert status == 200, f"no visit is {set(STATES) - set(self._known)}"
            for name, holds in STATES.items():
                if holds(json.loads(body)):
                    self._known.setdefault(name, visit)
        hands.close()


@contextmanager
def running_clinic(folder: Path, *options: str) -> Iterator[Clinic]:
    """Run a server on a data folder for a while; ``--demo`` fills it with the invented clinic."""
    server = Server(*data_of(folder), *options, environment={"TZ": "UTC"})
    try:
        yield Clinic(server, folder)
    finally:
        server.stop()


def open_account(folder: Path, name: str, *roles: str) -> None:
    """Open an account in a data folder, with `PASSWORD`; from then on everybody has to log in."""
    given = [word for role in roles for word in ("--role", role)]
    command = [sys.executable, "-m", "fabella", "account", "add", name, *given, *data_of(folder)]
    subprocess.run(command, input=PASSWORD + "\n", text=True, check=True, capture_output=True, timeout=60)
