"""Who appeals follows a mark from the sheet to the decision: every page says the same, to the digit."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from html import unescape
from itertools import count
from random import Random
from typing import Any

import pytest
from django.test import Client

from fabella.store.exams.codes import Kind, make_codes
from fabella.store.exams.models import ExamPresence, ExamStage
from fabella.web.visitor import local_clinician

_MARK = re.compile(r"([012]): ")
_dice = count(1)


def text(answer: Any) -> str:
    """A page as it is read, a line a block."""
    page = re.sub(r"(?s)<(script|svg)\b.*?</\1>", "", answer.content.decode())
    lines = re.sub(r"<(p|li|h\d|tr|td|th|caption)\b[^>]*>", "\n", page)
    return unescape(re.sub(r"[ \t]+", " ", re.sub(r"<[^>]+>", "", lines)))


def rows(answer: Any) -> list[list[str]]:
    """The first table of a page whose head begins with the station."""
    body = answer.content.decode().partition('<th scope="col">Station</th>')[2].partition("<tbody>")[2]
    found = re.findall(r"(?s)<tr\b.*?</tr>", body.partition("</tbody>")[0])
    return [
        [
            unescape(re.sub(r"(?s)<svg.*?</svg>|<[^>]+>", "", cell)).strip()
            for cell in re.findall(r"(?s)<t[dh].*?</t[dh]>", row)
        ]
        for row in found
    ]


@pytest.fixture
def released(demo: Client) -> int:
    """The exam of the invented clinic whose results are released."""
    del demo
    return int(ExamStage.objects.filter(stage="released").latest("id").exam_id)


def test_a_mark_is_followed_from_the_sheet_to_the_own_result(demo: Client, released: int) -> None:
    """Of every candidate: marks on each sheet, its score by hand, the whole, what they read themselves."""
    results = demo.get(f"/exams/{released}/results/")
    people = dict.fromkeys(re.findall(rf"/exams/{released}/results/of/([^/]+)/", results.content.decode()))
    incomplete = 0
    for person in list(people)[:6]:
        page = demo.get(f"/exams/{released}/results/of/{person}/")
        told = text(page)
        whole, *stations = rows(page)
        scores = []
        sheets = dict.fromkeys(
            re.findall(rf'/exams/{released}/watch/[^"/]+/{person}/[^"/]+/', page.content.decode())
        )
        for row, address in zip(stations, sheets, strict=True):
            marks = list(map(int, _MARK.findall(text(demo.get(address)).partition("How it came about")[0])))
            if row[1] == "–":
                incomplete += 1
                continue
            score = float(row[1].split()[0])
            if f"{sum(marks)} of {2 * len(marks)} marks, which is {score:.1f}%" in told:
                assert score == pytest.approx(100 * sum(marks) / (2 * len(marks)), abs=0.0501)
            else:
                incomplete += 1
                assert f"{sum(marks)} of {2 * len(marks)} marks, 1 not observed: filled in" in told
            scores.append(score)
        assert float(whole[1].split()[0]) == pytest.approx(sum(scores) / len(scores), abs=0.1)
        assert f"Score {whole[1].split()[0]}%, to pass {whole[2]}" in told
        assert f"{whole[1].split()[0]}%" in text(results)
        assert [row[:4] for row in rows(_own(released, person))] == [[*whole[:3], ""], *stations]
    assert incomplete, "one at least has something missing"


def _own(exam: int, person: str) -> Any:
    """The page that a candidate reads with their code."""
    made = make_codes(
        local_clinician("desk"),
        exam,
        Kind.CANDIDATE,
        [person],
        now=datetime(2027, 3, 4, tzinfo=UTC),
        dice=Random(next(_dice)).randrange,
    )
    own = Client(SERVER_NAME="localhost")
    own.post("/mark/", {"code": made[0][1]})
    return own.get("/mark/result/")


def test_a_decision_that_was_overtaken_says_so_where_it_is_appealed(demo: Client, released: int) -> None:
    """What was said since may have changed the score; the page had shown the old one without a word."""
    address = f"/exams/{released}/results/of/G01/"
    assert "Since this was decided" not in text(demo.get(address))
    ExamPresence.objects.create(
        exam_id=released,
        candidate="G01",
        presence="absent",
        why="x",
        by="tim",
        at=datetime(2027, 3, 4, tzinfo=UTC),
    )
    assert "Since this was decided something was said" in text(demo.get(address))
