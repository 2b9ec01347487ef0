import json
import threading
from collections import Counter
from http.client import HTTPException
from itertools import islice
from typing import Any

from fabella.store.school.models import PracticeEvent
from tests.web.hands import Browser, Server, running, wait_until
from tests.web.measure_practice import CHOSEN, acts

STUDENTS, EVENTS = 24, 30
ENOUGH = 250
"""Acknowledged events after which the server is killed, of 720 that are sent."""


class Student(threading.Thread):
    """Somebody who does one thing after the other as fast as it is acknowledged."""

    def __init__(self, number: int, port: int) -> None:
        super().__init__(daemon=True)
        self.acknowledged: dict[str, int] = {}
        self._browser = Browser(port)
        form = "&".join(f"{name}={value}" for name, value in CHOSEN.items())
        self.run_number = int(self._browser.form("/practice/", form).split("/")[3])
        self.sent = [
            {"id": f"practised-{number:03}-{at:06}", **event}
            for at, event in enumerate(islice(acts(number), EVENTS))
        ]
        self._do(self.sent[0])  # until something is done, calling in once more is the same press

    def run(self) -> None:
        """Practise until the server is gone."""
        try:
            for event in self.sent[1:]:
                self._do(event)
        except (OSError, HTTPException):
            return
        finally:
            self._browser.close()

    def _do(self, event: dict[str, Any]) -> None:
        (result,) = self.post(self._browser, event)
        self.acknowledged[result["id"]] = result["number"]

    def post(self, browser: Browser, *events: dict[str, Any]) -> list[dict[str, Any]]:
        """Post events and return what became of each."""
        path, body = f"/api/practice/{self.run_number}/events", json.dumps({"events": events})
        status, _, answer = browser.ask("POST", path, body, "application/json")
        assert status == 200, answer
        results: list[dict[str, Any]] = json.loads(answer)["results"]
        return results


def test_no_acknowledged_event_is_lost_when_the_server_is_killed(place: tuple[str, ...]) -> None:
    """Killed while a class practises, and started again, every acknowledged event is there exactly once.

    Afterwards every student sends everything again, as the scripts do: each run then has all of its events
    once, numbered without a gap, in the order in which they were done.
    """
    server = Server(*place)
    students = [Student(number, server.port) for number in range(STUDENTS)]
    for student in students:
        student.start()
    wait_until(lambda: sum(len(each.acknowledged) for each in students) >= ENOUGH, seconds=120)
    server.kill()
    for student in students:
        student.join(timeout=60)
    told = {(each.run_number, key): number for each in students for key, number in each.acknowledged.items()}
    assert ENOUGH <= len(told) < STUDENTS * EVENTS, "the server was killed in the middle"

    with running(*place) as again:
        rows = PracticeEvent.objects.filter(key__startswith="practised-")
        kept = Counter(rows.values_list("run_id", "key", "number"))
        assert set(kept.values()) == {1}
        assert {(run, key, number) for (run, key), number in told.items()} <= kept.keys()
        assert len(kept) - len(told) <= STUDENTS, "at most one event of each was on its way"
        for student in students:
            browser = Browser(again.port)
            results = student.post(browser, *student.sent)
            assert {each["outcome"] for each in results} == {"saved"}
            assert all(
                told.get((student.run_number, each["id"]), each["number"]) == each["number"]
                for each in results
            )
            browser.close()

    for student in students:
        own = rows.filter(run_id=student.run_number).order_by("number").values_list("number", "key")
        assert list(own) == [(at, each["id"]) for at, each in enumerate(student.sent, start=1)]
