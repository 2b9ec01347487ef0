"""What another process makes of a frozen exam: reports, decisions, feedback. Nothing here opens the store."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar

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
    board_report,
    error_grounds,
    feedback,
    how_scored,
    sheet_grounds,
    standings,
    station_report,
)
from fabella.papers.words import names_of
from fabella.report import Document, as_pdf
from fabella.report.wording import listed
from fabella.web.analysing.allotted import allotment_words
from fabella.web.analysing.frozen import FrozenExam, write_decision
from fabella.web.analysing.rules_origin import origin_words
from fabella.web.analysing.rules_words import annulled_words
from fabella.web.analysing.told_pages import ToldPage, told_tree

TARGET = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A part of what a frozen exam gives: of a station, a candidate, or some candidates, by their place."""

    is_large: ClassVar[bool] = True

    exam: FrozenExam
    place: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """A frozen exam with the text of what was decided."""

    is_large: ClassVar[bool] = True

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


def decision_text(exam: FrozenExam) -> str:
    """Return the decision to be kept: what it rests on, and what is told of each candidate now."""
    results = _cohort(exam).results
    names = [each.candidate for each in results.decisions]
    pages = dict(zip(names, map(told_tree, told_all(exam)), strict=True))
    return write_decision(exam, write_results(results), pages)


def told(asked: Asked) -> ToldPage:
    """Return what this program tells of one candidate."""
    return _told(_cohort(asked.exam), asked.place)


def told_all(exam: FrozenExam) -> tuple[ToldPage, ...]:
    """Return the same of every candidate, in the order of the marks."""
    cohort = _cohort(exam)
    return tuple(_told(cohort, place) for place in range(cohort.marks.n_candidates))


def _told(cohort: Cohort, place: int) -> ToldPage:
    return ToldPage(
        document=feedback(cohort, place),
        how=f"{how_scored(cohort, whose='the whole')} {error_grounds(cohort, place)}".strip(),
        standings=standings(cohort, place),
        sheets=sheet_grounds(cohort, place),
    )


def follows_again(decided: Decided) -> bool:
    """Say whether this program works out again what was decided; a page of it would say something else."""
    try:
        return is_repeated(decided.results, write_results(_cohort(decided.exam).results))
    except InputError:  # nothing at all follows
        return False


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
        annulled=annulled_words(dict(exam.annulled), names_of(stations)),
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
