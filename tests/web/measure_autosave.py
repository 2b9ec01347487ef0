"""Measure how long a save takes: ``python -m tests.web.measure_autosave`` prints the figures.

A server in processes of its own; as many clinicians as asked for, each on a device of their own with a visit
of their own, who save one finding once a second, ask whether anything is new every two seconds, and, if asked
to, fetch the conclusion after each save. Load and server share the machine: the figures are upper bounds.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import threading
import time
from contextlib import ExitStack
from pathlib import Path
from tempfile import TemporaryDirectory

from fabella.protocol import load_protocol
from fabella.record.layout import is_examined
from tests.web.hands import COMMAND, Browser, data_of, running

_SIDES = ("right", "left")


class Clinician(threading.Thread):
    """Saves once a second for a while, and remembers how long each save took."""

    def __init__(self, number: int, port: int, seconds: int, *, concluding: bool) -> None:
        super().__init__(daemon=True)
        self.saves_ms: list[float] = []
        self.conclusions_ms: list[float] = []
        self._number, self._seconds, self._concluding = number, seconds, concluding
        self._browser = Browser(port)
        self._visit = self._browser.new_visit(number)
        signs = [sign for sign in load_protocol().signs if sign.routine and is_examined(sign)]
        self._places = [(sign.id, side) for sign in signs if not sign.is_person for side in _SIDES]

    def run(self) -> None:
        """Work."""
        time.sleep(self._number % 25 / 25)
        for at in range(self._seconds):
            began = time.perf_counter()
            self._save(at)
            self.saves_ms.append((time.perf_counter() - began) * 1000)
            if self._concluding:
                asked = time.perf_counter()
                self._browser.ask("GET", f"{self._visit}/conclusion")
                self.conclusions_ms.append((time.perf_counter() - asked) * 1000)
            if at % 2:
                self._browser.ask("GET", self._visit)
            time.sleep(max(0, 1 - (time.perf_counter() - began)))
        self._browser.close()

    def warm_up(self) -> None:
        """Wait until the server has compiled its model."""
        self._browser.ask("GET", f"{self._visit}/conclusion")

    def _save(self, at: int) -> None:
        sign, side = self._places[at % len(self._places)]
        finding = {"sign": sign, "side": side, "state": "normal" if at % 5 else "abnormal"}
        identity = f"measured-{self._number:05}-{at:06}"
        self._browser.save(
            self._visit, {"id": identity, "base": 0, "change": "set_finding", "finding": finding}
        )


def told(what: str, times_ms: list[float]) -> str:
    """A line of figures."""
    cuts = statistics.quantiles(times_ms, n=100)
    return (
        f"{what}: {len(times_ms)} times, median {cuts[49]:.1f} ms, p95 {cuts[94]:.1f} ms, "
        f"p99 {cuts[98]:.1f} ms, longest {max(times_ms):.1f} ms\n"
    )


def encrypted(folder: Path, *data: str) -> tuple[str, str]:
    """Encrypt a clinic that is to be, and return the option that opens it."""
    key = ("--key-file", str(folder / "key"))
    command = [sys.executable, "-c", COMMAND, "key", "encrypt", *key, *data]
    subprocess.run(command, check=True, capture_output=True, timeout=60)
    return key


def main() -> None:
    """Measure and print."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--clinicians", type=int, default=25)
    arguments.add_argument("--seconds", type=int, default=20)
    arguments.add_argument("--concluding", action="store_true")
    arguments.add_argument("--database-url", default="")
    arguments.add_argument("--encrypted", action="store_true", help="on files that are encrypted as a whole")
    wanted = arguments.parse_args()
    url = ("--database-url", wanted.database_url) if wanted.database_url else ()
    with TemporaryDirectory() as folder, ExitStack() as stack:
        data = data_of(Path(folder) / "clinic")
        key = encrypted(Path(folder), *data) if wanted.encrypted else ()
        server = stack.enter_context(running(*data, *url, *key, warms=True))
        hands = [
            Clinician(number, server.port, wanted.seconds, concluding=wanted.concluding)
            for number in range(wanted.clinicians)
        ]
        hands[0].warm_up()
        for hand in hands:
            hand.start()
        for hand in hands:
            hand.join()
    sys.stdout.write(told("saves", [each for hand in hands for each in hand.saves_ms]))
    if wanted.concluding:
        sys.stdout.write(told("conclusions", [each for hand in hands for each in hand.conclusions_ms]))


if __name__ == "__main__":
    main()
