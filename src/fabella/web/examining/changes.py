"""What a new timetable changes, in words: who examines elsewhere, who sits elsewhere, and how much stays."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from fabella.exam import Seat, Timetable, clock

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
    moved = [name for name in new if name not in old or not _same(before, old[name], after, new[name])]
    gone = [name for name in old if name not in new]
    stay = len(new) - len(moved)
    return Changes(
        posts=tuple(_posts(before, after, names)),
        seats=tuple(
            (
                name,
                seat_words(before, old[name], names) if name in old else "not there",
                seat_words(after, new[name], names) if name in new else "not there",
            )
            for name in (*moved, *gone)
        ),
        staying=f"{stay} of {len(new)} candidates stay where they were.",
    )


def seat_words(table: Timetable, seat: Seat, names: Names) -> str:
    """Return where somebody begins: ``round 2 at 10:30, circuit A, station 3``."""
    station = table.day.places[seat.first]
    begins = clock(table.day.rounds[seat.turn].begins_min)
    where = "with a rest" if station is None else f"at {names.get(station, station)}"
    return f"round {seat.turn + 1} at {begins}, circuit {seat.circuit}, beginning {where}"


def _posts(before: Timetable, after: Timetable, names: Names) -> Iterator[tuple[str, str, str]]:
    day = after.day
    for turn in range(len(day.rounds)):
        for circuit in day.circuits:
            for station in day.stations:
                was, is_now = (table.examiners_at(turn, circuit, station) for table in (before, after))
                if sorted(was) != sorted(is_now):
                    where = f"round {turn + 1}, circuit {circuit}, {names.get(station, station)}"
                    yield where, ", ".join(was) or "nobody", ", ".join(is_now) or "nobody"


def _same(before: Timetable, one: Seat, after: Timetable, other: Seat) -> bool:
    begins = [table.day.rounds[seat.turn].begins_min for table, seat in ((before, one), (after, other))]
    return one == other and begins[0] == begins[1]
