"""The papers of an exam say what the station says, and paper sheets carry the same items as the tablets."""

from __future__ import annotations

from datetime import date
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from fabella.exam import Station, load_topics, propose_station
from fabella.papers import Sitting, as_papers, mark_sheets, station_leaves
from fabella.protocol import load_protocol

DAY = date(2026, 11, 25)
EXAM = "Winter practical"


def station(topic: str = "ligaments") -> Station:
    """A station as it is proposed."""
    return propose_station(load_protocol(), topic=topic, minutes=8, station_id="three").station


def pages(written: bytes) -> list[str]:
    """The words of every page, with single spaces."""
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(written)).pages]


@pytest.mark.parametrize("topic", tuple(load_topics()))
def test_a_station_has_four_papers(topic: str) -> None:
    """Candidate, examiner and volunteer each get theirs, and what has to be there is listed."""
    made = station(topic)
    written = pages(as_papers(station_leaves(made, exam=EXAM), title=EXAM, foot=EXAM, written_on=DAY))
    text = " ".join(written)
    assert " ".join(made.task.split()) in written[0]
    assert " ".join(made.task.split()) in written[1]  # the examiner reads what the candidate was told
    assert ("once to whoever begins what is to be left out" in text) == ("Leave out" in made.task)
    for item in made.items:
        assert item.words in text
        for anchor in item.anchors:
            assert anchor in text
    assert made.volunteer in written[-2]
    assert all(each in written[-1] for each in made.equipment)


def test_the_candidate_is_told_nothing_of_the_marking() -> None:
    """What hangs on the door names no item."""
    made = station()
    written = pages(as_papers(station_leaves(made, exam=EXAM), title=EXAM, foot=EXAM, written_on=DAY))
    assert not any(item.words in written[0] for item in made.items)


def test_a_paper_sheet_is_one_page_with_its_identifiers() -> None:
    """Every sitting has one page that names candidate, examiner, circuit, time and every item."""
    made = station("whole_knee")
    sittings = [
        Sitting(candidate=f"candidate {each}", examiner="examiner 4", circuit="north", begins_min=500)
        for each in range(3)
    ]
    written = pages(as_papers(mark_sheets(made, sittings, exam=EXAM), title=EXAM, foot=EXAM, written_on=DAY))
    assert len(written) == 3
    for sitting, page in zip(sittings, written, strict=True):
        for words in (sitting.candidate, "examiner 4", "north", "08:20", "station three"):
            assert words in page
        assert {"seen", "reached"} < set(page.split()), "no mark is no 0, on paper either"
        assert all(item.words in page for item in made.items)
        assert all(grade.name in page for grade in made.grades)


def test_the_papers_are_tagged_and_always_the_same() -> None:
    """A screen reader finds its way, and the same station gives the same bytes."""
    leaves = station_leaves(station(), exam=EXAM)
    written = [as_papers(leaves, title=EXAM, foot=EXAM, written_on=DAY) for _ in range(2)]
    assert written[0] == written[1]
    catalogue: Any = PdfReader(BytesIO(written[0])).trailer["/Root"]
    assert catalogue["/MarkInfo"]["/Marked"]
    assert catalogue["/Lang"] == "en-GB"
