"""Servers to open in a browser: the real command in a process of its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http import HTTPStatus
from itertools import count
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
    _visits: list[dict[str, Any]] = field(default_factory=list)

    @property
    def origin(self) -> str:
        """Where it is, without a slash at the end."""
        return "http:" + f"//127.0.0.1:{self.server.port}"

    def address(self, name: str, **parts: object) -> str:
        """Return the path of a page, by its name in the route table."""
        return reverse(name, kwargs=parts)

    def visit(self, state: str) -> int:
        """Return the visit of the invented clinic that stands so (`STATES`) and has most entries."""
        return int(self._example(state)["visit"])

    def day(self, state: str) -> str:
        """Return the day of that visit."""
        return str(self._example(state)["examination"]["examined_on"])

    def _example(self, state: str) -> dict[str, Any]:
        if not self._visits:
            self._visits = sorted(self._all_visits(), key=lambda each: -int(each["version"]))
        return next(each for each in self._visits if STATES[state](each))

    def _all_visits(self) -> Iterator[dict[str, Any]]:
        hands = Browser(self.server.port)
        for number in count(1):
            status, _, body = hands.ask("GET", self.address("api_state", visit_id=number))
            if status != HTTPStatus.OK:
                break
            yield json.loads(body)
        hands.close()


_CLOCK = {"TZ": "UTC"}


def fill(folder: Path) -> None:
    """Fill a data folder with the invented clinic, as ``serve --demo`` does at its first start."""
    command = [sys.executable, "-m", "fabella", "serve", "--demo", "--check", *data_of(folder)]
    subprocess.run(command, check=True, capture_output=True, timeout=600, env={**os.environ, **_CLOCK})


@contextmanager
def running_clinic(folder: Path, *options: str, warms: bool = True) -> Iterator[Clinic]:
    """Run a server on a data folder for a while; ``--demo`` fills it with the invented clinic."""
    server = Server(*data_of(folder), *options, warms=warms, environment=_CLOCK)
    try:
        yield Clinic(server, folder)
    finally:
        server.kill()


_OPEN_ACCOUNTS = """
import json, sys
from pathlib import Path
from fabella.web.options import Options
from fabella.web.settings import configure
data, password, roles_by_name = json.load(sys.stdin)
configure(Options(data=Path(data)))
from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.store.preparing import prepare_databases
prepare_databases()
for name, roles in roles_by_name.items():
    open_account(name, password=password, roles=list(map(Role, roles)))
"""


def open_accounts(folder: Path, roles_by_name: dict[str, tuple[str, ...]]) -> None:
    """Open accounts in a data folder, all with `PASSWORD`; from then on everybody has to log in.

    In a process of its own, since this one may not touch databases while the browser is open.
    """
    given = json.dumps([str(folder), PASSWORD, roles_by_name])
    command = [sys.executable, "-c", _OPEN_ACCOUNTS]
    subprocess.run(command, input=given, text=True, check=True, capture_output=True, timeout=60)


def link_account(folder: Path, name: str, sign_on: str) -> None:
    """Link an account to what the hospital's sign-on calls a person, by the command."""
    command = [sys.executable, "-m", "fabella", "account", "link", name, "--sign-on", sign_on]
    subprocess.run([*command, *data_of(folder)], check=True, capture_output=True, timeout=60)


def open_account(folder: Path, name: str, *roles: str) -> None:
    """Open one account; see `open_accounts`."""
    open_accounts(folder, {name: roles})
