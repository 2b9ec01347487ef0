"""What another process makes of a frozen exam: reports, decisions, feedback. Nothing here opens the store."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import ceil

import fabella
from fabella.assess import (
    Marks,
    Rules,
    alternatives,
    analyse,
    compare,
    decide,
    is_repeated,
    read_marks,
    read_rules,
    write_results,
)
from fabella.errors import InputError
from fabella.exam import Station, blueprint_of, read_station
from fabella.papers import (
    Analysed,
    Cohort,
    SheetGround,
    Standing,
    board_report,
    error_grounds,
    feedback,
    how_scored,
    sheet_grounds,
    standings,
    station_report,
)
from fabella.papers.batch import file_names
from fabella.papers.words import names_of
from fabella.report import Document, as_pdf
from fabella.report.wording import listed
from fabella.web.analysing.allotted import allotment_words
from fabella.web.analysing.frozen import FrozenExam
from fabella.web.analysing.rules_origin import origin_words

TARGET = 0.8
PART = 40
"""Candidates whose pages are made in one go: about a second."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A part of what a frozen exam gives: of a station, a candidate, or some candidates, by their place."""

    exam: FrozenExam
    place: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """A frozen exam with the text of what was decided."""

    exam: FrozenExam
    results: str


def board_of(exam: FrozenExam) -> Document:
    """Return the report to the board; `InputError` when the rules give no pass mark."""
    return board_report(_analysed(exam))


def board_file(exam: FrozenExam) -> bytes:
    """Return the report to the board as PDF."""
    return as_pdf(board_of(exam), written_on=exam.day)


def station_file(asked: Asked) -> bytes:
    """Return the report on one station as PDF."""
    marks, stations, _ = _read(asked.exam)
    document = station_report(_analysed(asked.exam), marks, stations[asked.place], asked.place)
    return as_pdf(document, written_on=asked.exam.day)


def results_text(exam: FrozenExam) -> str:
    """Return the decisions as text; the same exam gives the same text."""
    marks, _, rules = _read(exam)
    return write_results(decide(marks, rules))


def feedback_file(asked: Asked) -> bytes:
    """Return the page of one candidate as PDF."""
    return as_pdf(feedback(_cohort(asked.exam), asked.place), written_on=asked.exam.day)


def feedback_told(asked: Asked) -> tuple[Document, tuple[Standing, ...]]:
    """Return the page of one candidate to be shown, and where they stand."""
    cohort = _cohort(asked.exam)
    return feedback(cohort, asked.place), standings(cohort, asked.place)


def follows_again(decided: Decided) -> bool:
    """Say whether this program works out again what was decided; a page of it would say something else."""
    try:
        return is_repeated(decided.results, write_results(_cohort(decided.exam).results))
    except InputError:  # nothing at all follows
        return False


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounds:
    """What the result of a candidate rests on, for an appeal: in a sentence, by station, and by sheet."""

    how: str
    standings: tuple[Standing, ...]
    sheets: tuple[SheetGround, ...]


def grounds_told(asked: Asked) -> Grounds:
    """Return how the result of one candidate came about."""
    cohort = _cohort(asked.exam)
    return Grounds(
        how=f"{how_scored(cohort, whose='the whole')} {error_grounds(cohort, asked.place)}".strip(),
        standings=standings(cohort, asked.place),
        sheets=sheet_grounds(cohort, asked.place),
    )


def feedback_part(asked: Asked) -> tuple[tuple[str, bytes], ...]:
    """Return name and content of the pages of some candidates: those of the part numbered ``place``."""
    cohort = _cohort(asked.exam)
    names = file_names(cohort.marks.candidates)
    start = asked.place * PART
    return tuple(
        (names[place], as_pdf(feedback(cohort, place), written_on=asked.exam.day))
        for place in range(start, min(start + PART, len(names)))
    )


def parts_of(candidates: int) -> int:
    """Return in how many parts the pages of so many candidates are made."""
    return ceil(candidates / PART)


@lru_cache(maxsize=4)
def _read(exam: FrozenExam) -> tuple[Marks, tuple[Station, ...], Rules]:
    stations = tuple(read_station(each, protocol=None) for each in exam.stations)
    blueprint = blueprint_of(stations, weights=dict(exam.weights))
    return read_marks(exam.marks, blueprint=blueprint), stations, read_rules(exam.rules)


@lru_cache(maxsize=4)
def _analysed(exam: FrozenExam) -> Analysed:
    marks, stations, rules = _read(exam)
    return Analysed(
        title=exam.title,
        held_on=exam.day,
        analysis=analyse(marks, rules, at_random=exam.at_random, target=TARGET),
        alternatives=compare(marks, alternatives(rules)),
        target=TARGET,
        version=fabella.__version__,
        names=names_of(stations),
        allotted=allotment_words(exam.allotted),
        void=_void(exam, names_of(stations)),
        rules_from=origin_words(exam.origin) if exam.origin else "",
    )


def _void(exam: FrozenExam, names: Mapping[str, str]) -> tuple[str, ...]:
    """Return which sheets were lost or not held, those of one examiner for one reason together."""
    about: dict[tuple[str, str, str], list[str]] = {}
    for candidate, station, examiner, why in exam.void:
        about.setdefault((names.get(station, station), examiner, why), []).append(candidate)
    return tuple(
        f"{station}, {examiner}, of {listed(who)}: {why}" for (station, examiner, why), who in about.items()
    )


@lru_cache(maxsize=4)
def _cohort(exam: FrozenExam) -> Cohort:
    marks, stations, rules = _read(exam)
    comments: dict[str, tuple[tuple[str, str], ...]] = {}
    for candidate, station, text in exam.comments:
        comments[candidate] = (*comments.get(candidate, ()), (station, text))
    return Cohort(
        exam=exam.title,
        held_on=exam.day,
        marks=marks,
        results=decide(marks, rules),
        stations=stations,
        comments=comments,
    )
