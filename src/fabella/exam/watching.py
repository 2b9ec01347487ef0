"""Watching the day while it can still be mended: how sheets stand, who is late, who grades all alike."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from enum import StrEnum
from math import isnan
from statistics import median
from typing import Final

from fabella.exam.sheet import Sheet
from fabella.exam.sheet_events import Act
from fabella.exam.stations import Station

FEWEST_GRADES: Final = 5
"""So many grades, all the same, are worth a look; judgement: of five grades in common use it is 1 in 625 if
all were as likely, and far from rare where most candidates are alike."""

FEWEST_SILENT: Final = 2
"""So many sheets in a row on which nothing stands though their bell has gone: judgement."""

FEWEST_ENDS, LATE_MIN = 3, 1.0
"""Of so many finished sheets the middle one was finished so long after the bell: judgement."""


class How(StrEnum):
    """How a sheet stands.

    Nobody waits for one whose candidate is ``away`` or was marked ``instead`` by somebody else, nor for one
    that is ``void``: lost, or never held.
    """

    AWAY = "away"
    INSTEAD = "instead"
    VOID = "void"
    NOT_BEGUN = "not_begun"
    GOING = "going"
    HALF_EMPTY = "half_empty"
    FINISHED = "finished"


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchedSheet:
    """A sheet with its place in the day.

    Parameters
    ----------
    ends_min
        When the bell goes, in minutes after midnight; NaN where the timetable has it no more.
    finished_min
        When it was finished, in minutes after midnight of the day; None when it was not.
    on_paper
        Whether it was typed in from paper.
    """

    candidate: str
    station: str
    examiner: str
    ends_min: float
    finished_min: float | None
    sheet: Sheet
    how: How
    on_paper: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """An examiner who has given everybody the same grade so far."""

    examiner: str
    grade: int
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Behind:
    """An examiner who finishes sheets after the bell: the middle delay [min] of so many sheets."""

    examiner: str
    late_min: float
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Silent:
    """An examiner of whom nothing arrives: of how many sheets, and when the last one was finished, if any."""

    examiner: str
    number: int
    last_min: float | None


def how_of(sheet: Sheet, station: Station) -> How:
    """Return how a sheet stands: finished with a gap or without a grade it is half empty."""
    if sheet.is_void:
        return How.VOID
    if sheet.finished:
        is_graded = sheet.grade is not None or (Act.GRADE, "") in sheet.left_open
        whole = not sheet.gaps(station) and is_graded
        return How.FINISHED if whole else How.HALF_EMPTY
    return How.GOING if sheet.number else How.NOT_BEGUN


def overdue(sheets: Iterable[WatchedSheet], now_min: float) -> tuple[WatchedSheet, ...]:
    """Return the sheets whose bell has gone and which are not finished whole, the oldest first."""
    done = (How.FINISHED, How.AWAY, How.INSTEAD, How.VOID)
    late = (each for each in sheets if each.ends_min <= now_min and each.how not in done)
    return tuple(sorted(late, key=lambda each: (each.ends_min, each.station, each.candidate)))


def alike(sheets: Iterable[WatchedSheet]) -> tuple[Alike, ...]:
    """Return the examiners who gave every candidate the same grade, `FEWEST_GRADES` or more of them."""
    grades: dict[str, list[int]] = defaultdict(list)
    for each in sheets:
        if each.sheet.finished and each.sheet.grade is not None:
            grades[each.examiner].append(each.sheet.grade)
    return tuple(
        Alike(examiner=name, grade=given[0], number=len(given))
        for name, given in sorted(grades.items())
        if len(given) >= FEWEST_GRADES and len(set(given)) == 1
    )


def behind(sheets: Iterable[WatchedSheet]) -> tuple[Behind, ...]:
    """Return the examiners who finish their sheets after the bell, those furthest behind first."""
    delays: dict[str, list[float]] = defaultdict(list)
    for each in sheets:
        if each.finished_min is not None and not isnan(each.ends_min):
            delays[each.examiner].append(each.finished_min - each.ends_min)
    found = (
        Behind(examiner=name, late_min=median(late), number=len(late))
        for name, late in delays.items()
        if len(late) >= FEWEST_ENDS and median(late) > LATE_MIN
    )
    return tuple(sorted(found, key=lambda each: (-each.late_min, each.examiner)))


def silent(
    sheets: Iterable[WatchedSheet], now_min: float, *, with_code: Collection[str]
) -> tuple[Silent, ...]:
    """Return the examiners whose last sheets are blank though their bell has gone, `FEWEST_SILENT` or more.

    Their tablet may have no connection, and all marks on it. Who has no code has no tablet, and whoever marks
    on paper waits for somebody to type it in: those of whom nothing came but from paper, and everybody where
    nothing else came at all.

    Parameters
    ----------
    now_min
        In minutes after midnight.
    with_code
        The examiners who were ever given a code.
    """
    every = tuple(sheets)
    came = [one for one in every if one.on_paper or one.sheet.began or not one.sheet.is_blank]
    by_tablet = {one.examiner for one in came if not one.on_paper}
    if came and not by_tablet:
        return ()
    asked = set(with_code) - ({one.examiner for one in came} - by_tablet)
    due: dict[str, list[WatchedSheet]] = defaultdict(list)
    for each in sorted((one for one in every if one.ends_min <= now_min), key=lambda one: one.ends_min):
        if each.examiner in asked and each.how not in (How.AWAY, How.INSTEAD, How.VOID):
            due[each.examiner].append(each)
    found = []
    for name, own in sorted(due.items()):
        number = next((n for n, each in enumerate(reversed(own)) if each.how is not How.NOT_BEGUN), len(own))
        if number >= FEWEST_SILENT:
            ends = [each.finished_min for each in own if each.finished_min is not None]
            found.append(Silent(examiner=name, number=number, last_min=max(ends, default=None)))
    return tuple(found)
