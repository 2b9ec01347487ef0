"""An exam hall at the end of a wire: tablets, real ones among them, that mark while much goes wrong."""

from __future__ import annotations

import json
import random
import sqlite3
import subprocess
import sys
import threading
import time
from collections import defaultdict
from contextlib import closing
from dataclasses import dataclass
from http.client import HTTPException
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from tests.web.hands import Browser

ITEMS = ("look", "feel", "move", "tell")
"""Of every station in the hall."""

_MAKE = """
import json, sys
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from fabella.web.options import Options
from fabella.web.settings import configure
data, stations, circuits, items = json.load(sys.stdin)
configure(Options(data=Path(data)))
from fabella.exam import *
from fabella.store import Role
from fabella.store.preparing import prepare_databases
from fabella.store.exams.codes import Kind, make_codes
from fabella.store.exams.leading import Stage, make_exam
from fabella.store.exams.opening import move
from fabella.store.exams.papers import put_paper
from fabella.web.visitor import local_clinician
prepare_databases()
now, lead = datetime.now(tz=UTC), local_clinician("desk")
names = [f"s{each:02}" for each in range(stations)]
posts = [(f"E-{circuit}-{name}", f"K{circuit}", name) for circuit in range(circuits) for name in names]
day = Day(
    stations=tuple(names), circuits=tuple(f"K{each}" for each in range(circuits)),
    rounds=(Round(begins_min=0),),
    examiners=tuple(Examiner(id=each) for each, _, _ in posts),
    candidates=tuple(Candidate(id=f"C{each:03}") for each in range(stations * circuits)),
)
table = Timetable(
    day=day,
    seats=tuple(
        Seat(turn=0, circuit=f"K{each // stations}", first=each % stations, candidate=f"C{each:03}")
        for each in range(stations * circuits)
    ),
    duties=tuple(Duty(turn=0, circuit=circuit, station=name, examiner=each) for each, circuit, name in posts),
)
exam = make_exam(lead, "Hall", day=now.astimezone().date(), now=now)
for name in names:
    asked = tuple(
        Item(id=each, words=f"Does {each}", domain="technique", anchors=("no", "partly", "well"))
        for each in items
    )
    station = Station(id=name, title=name, topic="ligaments", minutes=8, items=asked, task="Examine.",
                      volunteer="Lie still.", equipment=())
    put_paper(lead, exam, f"station:{name}", write_station(station), now=now)
put_paper(lead, exam, "timetable", write_timetable(table), now=now)
move(lead, exam, Stage.OPEN, now=now)
people = [each for each, _, _ in posts]
codes = make_codes(lead, exam, Kind.EXAMINER, people, now=now, dice=Random(1).randrange)
stations = {each: name for each, _, name in posts}
candidates = {
    each: [seat.candidate for seat in table.seats if seat.circuit == circuit] for each, circuit, _ in posts
}
print(json.dumps([[each, code, stations[each], candidates[each]] for each, code in codes]))
"""


@dataclass(frozen=True, slots=True)
class Post:
    """An examiner of the hall: the code, the station, and the candidates that come to it."""

    examiner: str
    code: str
    station: str
    candidates: tuple[str, ...]


def make_hall(data: Path, *, stations: int, circuits: int) -> list[Post]:
    """Keep an open exam in a data folder, in a process of its own, and return everybody who examines."""
    given = json.dumps([str(data), stations, circuits, ITEMS])
    done = subprocess.run(
        [sys.executable, "-c", _MAKE], input=given, text=True, check=True, capture_output=True, timeout=120
    )
    return [Post(name, code, station, tuple(seen)) for name, code, station, seen in json.loads(done.stdout)]


def kept(data: Path) -> dict[tuple[str, str], list[str]]:
    """The ids of all events that the server keeps, in order, by examiner and candidate."""
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    with closing(sqlite3.connect(f"file:{data / 'exams.sqlite3'}?mode=ro", uri=True)) as file:
        asked = "SELECT examiner, candidate, key FROM exams_markevent ORDER BY examiner, candidate, number"
        for examiner, candidate, key in file.execute(asked):
            found[examiner, candidate].append(key)
    return found


class Tablet(threading.Thread):
    """A tablet without a screen: makes events at its pace, and sends them until they are answered."""

    def __init__(self, post: Post, port: int, *, seed: int, pause_s: float) -> None:
        super().__init__(daemon=True)
        self.post = post
        self.made: dict[tuple[str, str], list[str]] = defaultdict(list)
        self.acknowledged: list[str] = []
        self.refused: list[Any] = []
        self.ended = threading.Event()
        self._dice, self._pause_s = random.Random(seed), pause_s
        self._waiting: list[dict[str, Any]] = []
        self._hands = Browser(port, first="/mark/")
        status, _, _ = self._hands.ask(
            "POST", "/mark/", f"code={post.code}", "application/x-www-form-urlencoded"
        )
        assert status == 302

    def run(self) -> None:
        """Mark every candidate, then send what still waits."""
        for candidate in self.post.candidates:
            for event in self._events():
                self._make(candidate, event)
                self._send()
                time.sleep(self._dice.uniform(0.3, 1.7) * self._pause_s)
        while self._waiting:
            self._send()
            time.sleep(0.1)
        self._hands.close()
        self.ended.set()

    def _events(self) -> list[dict[str, Any]]:
        marks = [
            {"act": "mark", "item": each, "mark": self._dice.choice([0, 1, 2, "not_observed"])}
            for each in ITEMS
        ]
        return [
            {"act": "begin"},
            *marks,
            {"act": "grade", "grade": self._dice.randrange(5)},
            {"act": "finish"},
        ]

    def _make(self, candidate: str, event: dict[str, Any]) -> None:
        key = f"{self._dice.getrandbits(128):032x}"
        self.made[self.post.examiner, candidate].append(key)
        about = {"candidate": candidate, "station": self.post.station, "at": "2026-03-04T09:00:00Z"}
        self._waiting.append({"id": key, **about, **event})

    def _send(self) -> None:
        batch = self._waiting[:50]
        try:
            body = json.dumps({"operations": batch})
            status, _, answer = self._hands.ask("POST", "/api/mark/events", body, "application/json")
            results = json.loads(answer)["results"] if status == 200 else []
        except (OSError, HTTPException, ValueError):
            self._hands.close()
            return
        assert [each["id"] for each in results] == [each["id"] for each in batch[: len(results)]]
        self.acknowledged += [each["id"] for each in results if each["outcome"] == "saved"]
        self.refused += [each for each in results if each["outcome"] != "saved"]
        del self._waiting[: len(results)]


MARK_ALL = """async ([candidates, pause]) => {
  window.ended = false;
  const rest = () => new Promise((done) => setTimeout(done, pause * (0.3 + 1.4 * Math.random())));
  const until = async (found) => { while (!found()) await new Promise((done) => setTimeout(done, 20)); };
  const line = (name) => [...document.querySelectorAll(".candidates a")]
    .find((each) => each.querySelector("b").textContent === name);
  (async () => {
    for (const candidate of candidates) {
      location.hash = line(candidate).hash;
      await until(() => document.querySelector(".mark-sheet h1")?.textContent.startsWith(candidate));
      for (const item of document.querySelectorAll(".mark-item")) {
        item.querySelectorAll(".anchors button")[Math.floor(3 * Math.random())].click();
        await rest();
      }
      document.querySelector(".grades button:nth-child(3)").click();
      await rest();
      document.querySelector("#finish").click();
      await until(() => document.querySelector(".finished:not([hidden])"));
      location.hash = "";
      await until(() => document.querySelector(".candidates"));
    }
    window.ended = true;
  })();
}"""

MADE = """() => new Promise((done) => {
  indexedDB.open("marking").onsuccess = ({ target }) => {
    const asked = target.result.transaction("entries").objectStore("entries").getAll();
    asked.onsuccess = () => {
      target.result.close();
      done(asked.result.map(({ id, status, operation }) => [id, status, operation.candidate]));
    };
  };
})"""


def made_in(page: Page, post: Post) -> tuple[dict[tuple[str, str], list[str]], set[str]]:
    """What a real browser has made, in order, by examiner and candidate; and what of it was acknowledged."""
    made: dict[tuple[str, str], list[str]] = defaultdict(list)
    acknowledged = set()
    for key, status, candidate in page.evaluate(MADE):
        made[post.examiner, candidate].append(key)
        if status == "kept":
            acknowledged.add(key)
    return made, acknowledged
