"""Pages that list things ask the databases as often for many as for few."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from datetime import UTC, datetime

import pytest
from django.db import connections
from django.test import Client
from django.test.utils import CaptureQueriesContext

from fabella.exam import propose_station, write_station
from fabella.protocol import load_protocol
from fabella.store.exams.leading import make_exam
from fabella.store.exams.papers import STATION, put_paper
from fabella.store.router import ALIASES
from fabella.store.school.sets import make_set_with
from fabella.teach import Recipe
from fabella.web.visitor import local_clinician

TIM = local_clinician("any")
NOW = datetime(2026, 2, 3, tzinfo=UTC)


def asked(client: Client, page: str) -> int:
    """How often a page asks, once it has been opened before."""
    client.get(page)
    with ExitStack() as stack:
        told = [stack.enter_context(CaptureQueriesContext(connections[each])) for each in ALIASES]
        assert client.get(page).status_code == 200
    return sum(map(len, told))


def exam(number: int) -> None:
    """Another exam."""
    make_exam(TIM, f"Exam {number}", day=NOW.date(), now=NOW)


def station(number: int) -> None:
    """Another station of the exam."""
    name = str(number)
    made = propose_station(load_protocol(), topic="effusion", minutes=8, station_id=name).station
    put_paper(TIM, 1, STATION + name, write_station(made), now=NOW)


def practice_set(number: int) -> None:
    """Another set, with a patient."""
    make_set_with(TIM, f"Set {number}", Recipe(seed=number), name="Any", now=NOW)


@pytest.mark.parametrize(
    ("page", "another"),
    [("/exams/", exam), ("/exams/1/", station), ("/exams/1/stations/", station), ("/teach/", practice_set)],
)
def test_more_of_the_same_asks_no_more(client: Client, page: str, another: Callable[[int], None]) -> None:
    """Six exams, stations or sets are read by as many questions as one."""
    exam(0)
    another(1)
    few = asked(client, page)
    for number in range(2, 7):
        another(number)
    assert asked(client, page) == few


def test_the_page_of_an_exam_asks_little(demo: Client) -> None:
    """That the exam is there is asked for once or twice, not with each of its parts (25 questions before)."""
    assert asked(demo, "/exams/1/") <= 20
