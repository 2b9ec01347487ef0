"""Papers of an exam as PDF: what candidate, examiner and volunteer read, and mark sheets of paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any

from fabella.exam import Item, Station, clock, kinds_of, names_what_is_unasked
from fabella.report.pdf import compiled

_CAUTION = "Whoever is examined may stop at any time; what hurts is not repeated."
_WITHOUT = ("not seen", "not reached")
_READ = (
    "Mark each item by what you saw, not by what you think the candidate knows. Give the global rating last "
    "and by itself: it is not worked out from the marks. Say nothing that helps or hinders."
)

_UNASKED = (
    "Apart from one thing, said once to whoever begins what is to be left out: “That is not asked here.” It "
    "earns no mark and costs none."
)

Leaf = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """One sheet to be filled in: who is marked by whom, where and from when (minutes after midnight)."""

    candidate: str
    examiner: str
    circuit: str
    begins_min: float


def station_leaves(station: Station, *, exam: str) -> tuple[Leaf, ...]:
    """Return the four leaves of a station: for candidate, examiner and volunteer, and what is needed."""
    return (
        _notice(exam, station, "For the candidate", (station.task, _time(station))),
        _guide(exam, station),
        _notice(exam, station, "For the volunteer", (station.volunteer, _CAUTION)),
        _notice(exam, station, "What has to be there", (), station.equipment),
    )


def mark_sheets(station: Station, sittings: Iterable[Sitting], *, exam: str) -> tuple[Leaf, ...]:
    """Return a mark sheet of paper for each sitting, with the same items and numbers as on the tablets."""
    return tuple(_sheet(exam, station, each) for each in sittings)


def as_papers(leaves: Sequence[Leaf], *, title: str, foot: str, written_on: date) -> bytes:
    """Return leaves as one PDF file, a page or more each."""
    day = {"year": written_on.year, "month": written_on.month, "day": written_on.day}
    return compiled(_template(), {"title": title, "foot": foot, **day, "leaves": list(leaves)})


def _notice(
    exam: str, station: Station, title: str, paragraphs: Sequence[str], points: Sequence[str] = ()
) -> Leaf:
    return {
        "kind": "notice",
        **_head(exam, station, title),
        "paragraphs": list(paragraphs),
        "points": list(points),
    }


def _guide(exam: str, station: Station) -> Leaf:
    return {
        "kind": "guide",
        **_head(exam, station, "For the examiner"),
        "paragraphs": [f"The candidate was told: {station.task}", _time(station), _reads(station), _CAUTION],
        "domains": list(_domains(station)),
        "grades": [{"name": each.name, "words": each.words} for each in station.grades],
    }


def _reads(station: Station) -> str:
    """Return how the sheet is marked, and what is said to whoever begins what is to be left out."""
    return f"{_READ} {_UNASKED}" if names_what_is_unasked(station.task) else _READ


def _domains(station: Station) -> Iterator[Leaf]:
    numbers = {item.id: number for number, item in enumerate(station.items, 1)}
    for domain in kinds_of(station.items):
        rows = [_row(item, numbers[item.id]) for item in station.items if item.domain == domain.id]
        yield {"name": domain.name, "rows": rows}


def _row(item: Item, number: int) -> Leaf:
    weight = "" if item.weight == 1 else f", counts {item.weight:g} times"
    return {
        "number": number,
        "words": f"{item.words}{weight}",
        "anchors": list(item.anchors),
        "critical": item.critical,
        "seconds": f"{item.seconds} s" if item.seconds else "",
    }


def _sheet(exam: str, station: Station, sitting: Sitting) -> Leaf:
    most = max(item.most for item in station.items)
    return {
        "kind": "sheet",
        **_head(exam, station, station.title),
        "known": [
            ["Candidate", sitting.candidate],
            ["Examiner", sitting.examiner],
            ["Circuit", sitting.circuit],
            ["At", clock(sitting.begins_min)],
        ],
        "marks": [*map(str, range(most + 1)), *_WITHOUT],
        "rows": [
            {"number": number, "words": item.words, "critical": item.critical, "marks": item.most + 1}
            for number, item in enumerate(station.items, 1)
        ],
        "grades": [each.name for each in station.grades],
    }


def _head(exam: str, station: Station, title: str) -> Leaf:
    """What stands above: the station by its name for a reader, by its id on a sheet that will be typed in."""
    sheet = title == station.title
    return {
        "above": f"{exam}, station {station.id}" if sheet else exam,
        "title": title,
        "under": "" if sheet else f"{station.title}, version {station.version}",
    }


def _time(station: Station) -> str:
    return f"Time: {station.minutes:g} minutes. A bell rings at the beginning and at the end."


@cache
def _template() -> bytes:
    return files("fabella.papers").joinpath("printed.typ").read_bytes()
