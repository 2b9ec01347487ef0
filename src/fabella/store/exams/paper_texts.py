"""Texts of stations and timetables as they are kept, read once each."""

from __future__ import annotations

from functools import lru_cache

from fabella.exam import Station, Timetable, read_station, read_timetable


@lru_cache(maxsize=200)
def read_kept_station(text: str) -> Station:
    """Return the station of a version, whatever signs, topics and kinds of items this program knows."""
    return read_station(text, protocol=None)


@lru_cache(maxsize=50)
def read_kept_timetable(text: str) -> Timetable:
    """Return the timetable of a version."""
    return read_timetable(text)
