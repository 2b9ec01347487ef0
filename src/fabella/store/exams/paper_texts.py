"""The texts of an exam's papers, each read once however often it is asked for."""

from functools import lru_cache

from fabella.exam import Station, Timetable, read_station, read_timetable
from fabella.protocol import load_protocol


@lru_cache(maxsize=200)
def read_kept_station(text: str) -> Station:
    """Return the station of a version; the same text is read once."""
    return read_station(text, protocol=load_protocol())


@lru_cache(maxsize=50)
def read_kept_timetable(text: str) -> Timetable:
    """Return the timetable of a version; the same text is read once."""
    return read_timetable(text)
