"""A real server in a process of its own, and browsers without a screen that save on it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

COMMAND = "from fabella.cli import main; main()"
_WITHOUT_WARMING = f"""
import os
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command does, before numpy is imported
import fabella.web.warming as warming
assert warming.WORK
warming.WORK = ()
{COMMAND}
"""
_PATIENCE_SECONDS = 60


Answer = tuple[int, dict[str, str], bytes]


class Server:
    """A running server; ``port`` is the one it took, ``log`` what it wrote to standard error until it ended.

    Unless it ``warms`` it works out nothing that nobody asked for: most servers of tests end before that
    would be of use, and there are many of them.
    """

    def __init__(self, *options: str, warms: bool = False, environment: dict[str, str] | None = None) -> None:
        code = COMMAND if warms else _WITHOUT_WARMING
        command = [sys.executable, "-c", code, "serve", "--port", "0", *options]
        self._log = tempfile.TemporaryFile()  # noqa: SIM115  a pipe that nobody reads would fill up
        self._process = subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=self._log,
            text=True,
            start_new_session=True,
            env={**os.environ, **(environment or {})},
        )
        assert self._process.stdout is not None
        self.said = self._process.stdout.readline()
        if not self.said:
            self._end()
            raise RuntimeError(self.log)
        self.port = int(self.said.split(":")[2].split("/")[0])

    @property
    def group(self) -> int:
        """The process group of all its processes."""
        return self._process.pid

    def kill(self) -> None:
        """Kill every process of the server at once, as a power cut would."""
        with suppress(ProcessLookupError):
            os.killpg(self._process.pid, signal.SIGKILL)
        self._end()

    def stop(self) -> int:
        """Ask the server to end, and return what it ends with."""
        self._process.terminate()
        self._end()
        return self._process.returncode

    def _end(self) -> None:
        self._process.communicate(timeout=_PATIENCE_SECONDS)
        if not self._log.closed:
            self._log.seek(0)
            self.log = self._log.read().decode()
            self._log.close()


@contextmanager
def running(*options: str, warms: bool = False) -> Iterator[Server]:
    """Run a server for a while, and end it at once: whoever asks for its end waits for it (`Server.stop`)."""
    server = Server(*options, warms=warms)
    try:
        yield server
    finally:
        server.kill()


class Browser:
    """One device: keeps its cookies and its connection."""

    def __init__(self, port: int, *, first: str = "/patients/new/") -> None:
        self._connection = HTTPConnection("127.0.0.1", port, timeout=_PATIENCE_SECONDS)
        self._cookies: dict[str, str] = {}
        self.ask("GET", first)

    def close(self) -> None:
        """Cut the connection; the next request makes another."""
        self._connection.close()

    def ask(self, method: str, path: str, body: str = "", kind: str = "") -> Answer:
        """Send a request and return status, headers and body."""
        self._send(method, path, body, kind)
        answer = self._connection.getresponse()
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                cookie, _, rest = value.partition("=")
                self._cookies[cookie] = rest.split(";")[0]
        return answer.status, dict(answer.getheaders()), answer.read()

    def _send(self, method: str, path: str, body: str, kind: str) -> None:
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self._cookies.items())}
        if kind:
            headers |= {"Content-Type": kind, "X-CSRFToken": self._cookies["fabella_csrf"]}
        self._connection.request(method, path, body=body or None, headers=headers)

    def form(self, path: str, body: str) -> str:
        """Send a form and return where it leads."""
        status, headers, _ = self.ask("POST", path, body, "application/x-www-form-urlencoded")
        assert status == 302, status
        return headers["Location"]

    def new_visit(self, number: int) -> str:
        """Add a patient, begin a visit, and return its address under ``/api``."""
        patient = self.form("/patients/new/", f"number=T-{number}&label=Invented+{number}")
        begun = self.form(patient, "complaint=right")
        return f"/api{begun.removesuffix('examine/').rstrip('/')}"

    def lose(self, visit: str, *operations: dict[str, Any]) -> None:
        """Send operations and cut the connection before the answer can come."""
        self._send("POST", f"{visit}/operations", json.dumps({"operations": operations}), "application/json")
        self.close()

    def save(self, visit: str, *operations: dict[str, Any]) -> Any:
        """Save operations and return the answer."""
        body = json.dumps({"operations": operations})
        status, _, answer = self.ask("POST", f"{visit}/operations", body, "application/json")
        assert status == 200, answer
        return json.loads(answer)


def operation(number: int, item: str, value: object) -> dict[str, Any]:
    """An operation that answers a question of the history."""
    identity = f"saved-by-hand-{number:08}"
    return {"id": identity, "base": 0, "change": "set_history", "item": item, "value": value}


def wait_until(true: Any, seconds: float = 90) -> None:
    """Wait until something is true; fail when it does not become so."""
    until = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < until, "waited too long"
        time.sleep(0.005)


def data_of(folder: Path) -> tuple[str, str]:
    """The option that names a data folder."""
    return "--data", str(folder)
