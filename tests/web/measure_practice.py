"""Measure a class at practice: ``python -m tests.web.measure_practice`` prints the figures.

A server in processes of its own; as many students as asked for, each with an account and in the middle of a
run of their own, who do something every five to eight seconds: as the scripts do, they post the event, whose
answer tells what it brought, and ask for what moves in it. Load and server share the machine: times are
upper bounds, and the computing time of the server is told beside them.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import secrets
import sys
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from itertools import cycle
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from urllib.parse import urlencode

from fabella.protocol import Kind, load_protocol
from fabella.store import Role
from fabella.store.databases import databases
from fabella.store.preparing import prepare_databases
from tests.database import using
from tests.web.hands import Browser, Server, data_of, running
from tests.web.measure_autosave import told

PHRASE = "seven grey herons wade"
CHOSEN = {"curriculum": "ligaments", "setting": "emergency", "minutes": "", "told": ""}
COURTESIES = ("greeting", "hand_hygiene", "identity", "consent", "pain_first", "exposure")
AT_ONCE = 100
PAUSE_S = (5.0, 8.0)
_MOTION = re.compile(r'data-motion="([^"]+)"')
_TURNS = re.compile(r'data-turns="(\d+)"')
_DRAWN = re.compile(r'id="stage" data-key="([^"]*)"')


def acts(number: int) -> Iterator[dict[str, Any]]:
    """What a student does, one after the other and without end: both knees, and a record after each sign."""
    signs = [sign for sign in load_protocol().sequence() if sign.routine and sign.kind is not Kind.COURTESY]
    for courtesy in COURTESIES:
        yield {"act": "do", "sign": courtesy}
    yield {"act": "watch_face"}
    for at, sign in enumerate(cycle(signs[number % 7 :] + signs[: number % 7])):
        sides = (None,) if sign.is_person or sign.is_history else ("right", "left")
        for side in sides:
            where = {} if side is None else {"side": side}
            yield {"act": "do", "sign": sign.id, **where}
            if sign.scale.levels and not sign.is_history:
                yield {"act": "record", "sign": sign.id, **where, "level": sign.scale.levels[0].id}
        if at % 9 == 0:
            yield {"act": "believe", "beliefs": [["acl_tear", (number + at) % 100 / 100]]}


class Student(threading.Thread):
    """Does something every few seconds, and remembers how long each answer took."""

    def __init__(self, name: str, number: int, port: int, *, seconds: float, done: int) -> None:
        super().__init__(daemon=True)
        self.posts_ms: list[float] = []
        self.motions_ms: list[float] = []
        self._number, self._seconds, self._moved = number, seconds, set[str]()
        self._browser = Browser(port, first="/login/")
        self._browser.form("/login/", urlencode({"name": name, "password": PHRASE, "next": "/practice/"}))
        self._browser.ask("GET", "/practice/")
        self.run_path = self._browser.form("/practice/", urlencode(CHOSEN))
        self._todo = acts(number)
        self._events = f"/api/practice/{self.run_path.split('/')[3]}/events"
        self._turns = self._drawn = ""
        self._see(self._browser.ask("GET", self.run_path)[2].decode())
        far = done + number if done else 0  # some look at the legs, some have them walk, some test
        for at in range(0, far, AT_ONCE):
            self._post([next(self._todo) for _ in range(min(AT_ONCE, far - at))])

    def run(self) -> None:
        """Practise."""
        self._browser.close()  # an idle connection ends while others are still logging in
        dice, until = random.Random(self._number), time.monotonic() + self._seconds
        time.sleep(dice.uniform(0, PAUSE_S[1]))
        self._act({"act": "watch_face"})  # makes the connection anew
        for times in (self.posts_ms, self.motions_ms):
            times.clear()
        while time.monotonic() < until:
            self._act(next(self._todo))
            time.sleep(dice.uniform(*PAUSE_S))
        self._browser.close()

    def _act(self, event: dict[str, Any]) -> None:
        for address in _MOTION.findall(self._post([event])):
            if address not in self._moved:  # the scripts fetch each once
                self._moved.add(address)
                self._timed(self.motions_ms, "GET", address)

    def _post(self, events: list[dict[str, Any]]) -> str:
        """Post events as the scripts do, and return how the run stands."""
        keyed = [{"id": secrets.token_hex(16), "thought_s": 4.0, **event} for event in events]
        into = self.posts_ms if len(events) == 1 else []
        path = f"{self._events}?shown={self._turns}&drawn={self._drawn}&show="
        answer = self._timed(into, "POST", path, json.dumps({"events": keyed}), "application/json")
        now: str = json.loads(answer)["now"]
        self._see(now)
        return now

    def _see(self, page: str) -> None:
        """Have a page on the screen."""
        self._turns = _TURNS.findall(page)[0]
        self._drawn = next(iter(_DRAWN.findall(page)), self._drawn)

    def _timed(self, into: list[float], method: str, path: str, body: str = "", kind: str = "") -> bytes:
        began = time.perf_counter()
        status, _, answer = self._browser.ask(method, path, body, kind)
        into.append((time.perf_counter() - began) * 1000)
        if status != 200:
            raise RuntimeError(f"{path}: {status}")
        return answer


@dataclass(frozen=True, slots=True)
class Computing:
    """Processor seconds of all processes of a server: used, and waited for while others had the processor."""

    used_s: float
    waited_s: float


def computing(server: Server) -> Computing:
    """Return what a server has computed and waited so far."""
    used, waited = 0, 0
    for process in processes(server):
        try:
            after = (process / "stat").read_text().rsplit(")", 1)[1].split()
            used += int(after[11]) + int(after[12])
            for thread in process.glob("task/*/schedstat"):
                waited += int(thread.read_text().split()[1])
        except OSError:  # it has ended meanwhile
            continue
    return Computing(used / os.sysconf("SC_CLK_TCK"), waited / 1e9)


def processes(server: Server) -> Iterator[Path]:
    """Yield where each process of a server is described."""
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if os.getpgid(int(process.name)) == server.group:
                yield process
        except OSError:  # it has ended meanwhile
            continue


def go_first(server: Server) -> None:
    """Let server and load have the processor before all else, as on a machine that does nothing else."""
    for process in (*processes(server), Path("/proc/self")):
        for thread in process.glob("task/*"):
            os.sched_setscheduler(int(thread.name), os.SCHED_RR, os.sched_param(1))


def open_accounts(folder: Path, names: Iterable[str]) -> None:
    """Open an account for each student in a data folder."""
    from fabella.store.accounts.keeping import open_account  # noqa: PLC0415  after the framework's start

    with using(databases(folder)):
        prepare_databases()
        for name in names:
            open_account(name, password=PHRASE, roles=[Role.STUDENT])


def main() -> None:
    """Measure and print."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--students", type=int, default=200)
    arguments.add_argument("--seconds", type=float, default=60)
    arguments.add_argument(
        "--done", type=int, default=50, help="events before it is measured, and one more with each run"
    )
    arguments.add_argument("--first", action="store_true", help="before all else on the machine (root alone)")
    wanted = arguments.parse_args()
    names = [f"student-{number:03}" for number in range(wanted.students)]
    with TemporaryDirectory() as folder, ExitStack() as stack:
        open_accounts(Path(folder), names)
        server = stack.enter_context(running(*data_of(Path(folder)), warms=True))
        students = [
            Student(name, at, server.port, seconds=wanted.seconds, done=wanted.done)
            for at, name in enumerate(names)
        ]
        if wanted.first:
            go_first(server)
        before = computing(server)
        for student in students:
            student.start()
        for student in students:
            student.join()
        after = computing(server)
    for what in ("posts_ms", "motions_ms"):
        if times := [each for student in students for each in getattr(student, what)]:
            sys.stdout.write(told(what.removesuffix("_ms"), times))
    answered = sum(len(s.posts_ms) + len(s.motions_ms) for s in students)
    used, waited = after.used_s - before.used_s, after.waited_s - before.waited_s
    sys.stdout.write(
        f"the server computed {used:.1f} s ({used / wanted.seconds:.0%} of a core), "
        f"{used / answered * 1000:.1f} ms for each of {answered} requests; "
        f"its threads waited {waited:.1f} s for a processor\n"
    )


if __name__ == "__main__":
    main()
