"""Texts of stations and timetables as they are kept, read once each."""

from __future__ import annotations

from functools import lru_cache

from fabella.errors import Problem
from fabella.exam import Station, Timetable, read_station, read_timetable
from fabella.store.exams.leading import LONGEST_NAME


@lru_cache(maxsize=200)
def read_kept_station(text: str) -> Station:
    """Return the station of a version, whatever signs, topics and kinds of items this program knows."""
    return read_station(text, protocol=None)


@lru_cache(maxsize=50)
def read_kept_timetable(text: str) -> Timetable:
    """Return the timetable of a version."""
    return read_timetable(text)


def too_long_names(table: Timetable, *, place: str) -> list[Problem]:
    """Return a problem for every name that could not stand on a code or a sheet."""
    day, remedy = table.day, f"write up to {LONGEST_NAME} letters"
    people = (*(each.id for each in day.candidates), *(each.id for each in day.examiners))
    return [
        Problem(place=place, value=f"{each[:20]} …", says="is too long a name", remedy=remedy)
        for each in (*people, *day.stations)
        if len(each) > LONGEST_NAME
    ]
