"""The lead watches a day that is marked on paper."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from typing import Any

import pytest
from django.test import Client

from fabella.store.exams.codes import Kind, make_codes
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.typing_in import PaperSheet, type_in
from tests.database import fresh_sqlite
from tests.store.exam_days import DICE, TIM, event, opened, say
from tests.store.exam_days import bearer as coded
from tests.store.people import NOW

_keys = count()


@pytest.fixture
def client() -> Iterator[Client]:
    """A browser of the lead at this machine, long after the day."""
    with fresh_sqlite():
        yield Client(SERVER_NAME="localhost")


def silent(client: Client, exam: int) -> list[str]:
    """Who is named among those of whom nothing arrives."""
    page = client.get(f"/exams/{exam}/watch/").content.decode()
    told = page.partition("<h3>Nothing arrives</h3>")[2].partition("</ul>")[0]
    return [name for name in ("Edith", "Fred") if f"<li>{name}:" in told]


def typed(exam: int, **about: Any) -> None:
    """Type in what stands on paper."""
    sheet = PaperSheet(marks={"look": 1, "feel": 2, "move": 0}, grade=1)
    key = SheetKey(**{"candidate": "C1", "station": "one", "examiner": "Edith"} | about)
    type_in(TIM, exam, key, sheet, typist="AB", now=NOW, name=lambda: f"typed-for-the-test-{next(_keys)}")


def test_nobody_who_marks_on_paper_is_asked_for_a_tablet(client: Client) -> None:
    """Without codes nobody is named; with codes everybody, until what comes shows that it is paper."""
    exam = opened()
    assert silent(client, exam) == []
    make_codes(TIM, exam, Kind.EXAMINER, ["Edith", "Fred"], now=NOW, dice=DICE)
    assert silent(client, exam) == ["Edith", "Fred"]
    typed(exam)
    assert silent(client, exam) == []


def test_whoever_has_a_tablet_is_named_beside_one_with_paper(client: Client) -> None:
    """Fred's tablet has sent something once and falls silent; Edith's sheets are typed in."""
    exam = opened()
    make_codes(TIM, exam, Kind.EXAMINER, ["Edith"], now=NOW, dice=DICE)
    who = coded(exam, "Fred")
    typed(exam)
    say(who, event("begin", candidate="C2", station="two"))
    assert silent(client, exam) == ["Fred"]
