"""What a new timetable changes, in words: who examines elsewhere, who sits elsewhere, and how much stays."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from fabella.exam import Seat, Stop, Timetable, clock

Names = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """The differences of two timetables: each line is where or who, what was, and what is to be."""

    posts: tuple[tuple[str, str, str], ...]
    seats: tuple[tuple[str, str, str], ...]
    staying: str

    @property
    def is_none(self) -> bool:
        """Whether nobody is elsewhere."""
        return not self.posts and not self.seats


def changes_between(before: Timetable, after: Timetable, names: Names) -> Changes:
    """Return what whoever holds the earlier timetable has to be told; ``names``: of stations, by id."""
    old, new = ({each.candidate: each for each in table.seats} for table in (before, after))
    ways, new_ways = _ways(before), _ways(after)
    moved = [name for name, seat in new.items() if old.get(name) != seat or ways[name] != new_ways[name]]
    gone = [name for name in old if name not in new]
    stay = len(new) - len(moved)
    return Changes(
        posts=tuple(_posts(before, after, names)),
        seats=tuple(
            (name, *_moved(before, old.get(name), after, new.get(name), names)) for name in (*moved, *gone)
        ),
        staying=f"{stay} of {len(new)} candidates stay where they were.",
    )


def seat_words(table: Timetable, seat: Seat, names: Names) -> str:
    """Return where somebody begins: ``round 2 at 10:30, circuit A, station 3``."""
    station = table.day.places[seat.first]
    begins = clock(table.day.rounds[seat.turn].begins_min)
    where = "with a rest" if station is None else f"at {names.get(station, station)}"
    return f"round {seat.turn + 1} at {begins}, circuit {seat.circuit}, beginning {where}"


def _moved(
    before: Timetable, was: Seat | None, after: Timetable, is_now: Seat | None, names: Names
) -> tuple[str, str]:
    """Return where somebody began and begins; with the stations after it where the first tells nothing."""
    words = (
        seat_words(before, was, names) if was else "",
        seat_words(after, is_now, names) if is_now else "",
    )
    if was and is_now and words[0] == words[1]:
        return _way_words(before, was, names), _way_words(after, is_now, names)
    return words[0] or "not there", words[1] or "not there"


def _way_words(table: Timetable, seat: Seat, names: Names) -> str:
    places = (*table.day.places[seat.first + 1 :], *table.day.places[: seat.first])
    then = (names.get(each, each) if each else "a rest" for each in places)
    return ", then ".join([seat_words(table, seat, names), *then])


def _ways(table: Timetable) -> Mapping[str, list[Stop]]:
    """Return everywhere that each candidate goes, in order."""
    found: dict[str, list[Stop]] = defaultdict(list)
    for stop in table.stops():
        found[stop.candidate].append(stop)
    return found


def _posts(before: Timetable, after: Timetable, names: Names) -> Iterator[tuple[str, str, str]]:
    day = after.day
    for turn in range(len(day.rounds)):
        for circuit in day.circuits:
            for station in day.stations:
                was, is_now = (table.examiners_at(turn, circuit, station) for table in (before, after))
                if sorted(was) != sorted(is_now):
                    where = f"round {turn + 1}, circuit {circuit}, {names.get(station, station)}"
                    yield where, ", ".join(was) or "nobody", ", ".join(is_now) or "nobody"
