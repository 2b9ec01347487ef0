"""Who is where when: candidates walk round a circuit, examiners stay at their station."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from fabella.exam.day import Day


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Seat:
    """Where a candidate begins: the circuit, the round and the place of the circuit, both counted from 0."""

    turn: int
    circuit: str
    first: int
    candidate: str


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Duty:
    """An examiner at a station for one round."""

    turn: int
    circuit: str
    station: str
    examiner: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A candidate at one place: ``station`` is None for a rest; times in minutes after midnight."""

    begins_min: float
    ends_min: float
    circuit: str
    station: str | None
    candidate: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Timetable:
    """A day with everybody placed."""

    day: Day
    seats: tuple[Seat, ...]
    duties: tuple[Duty, ...]

    def stops(self) -> Iterator[Stop]:
        """Everywhere that anybody goes, candidate by candidate in order of time."""
        places = self.day.places
        for seat in self.seats:
            begins, slot = self.day.rounds[seat.turn].begins_min, self.day.slot_min(seat.turn)
            for step in range(len(places)):
                start = begins + step * slot
                yield Stop(
                    begins_min=start,
                    ends_min=start + slot - self.day.change_min,
                    circuit=seat.circuit,
                    station=places[(seat.first + step) % len(places)],
                    candidate=seat.candidate,
                )

    def examiners_at(self, turn: int, circuit: str, station: str) -> tuple[str, ...]:
        """Return who examines there."""
        return tuple(
            each.examiner
            for each in self.duties
            if (each.turn, each.circuit, each.station) == (turn, circuit, station)
        )


def faults(table: Timetable) -> tuple[str, ...]:
    """Return in words everything that a timetable breaks; empty when it holds.

    It looks at the finished table alone, not at how it was found.
    """
    return (*_misplaced(table), *_met(table), *_overworked(table))


def _misplaced(table: Timetable) -> Iterator[str]:
    day, people = table.day, {each.id: each for each in table.day.candidates}
    seated = Counter(each.candidate for each in table.seats)
    for name in people:
        if seated[name] != 1:
            yield f"candidate {name} is seated {seated[name]} times"
    places = Counter((each.turn, each.circuit, each.first) for each in table.seats)
    for (turn, circuit, first), number in places.items():
        if number > 1:
            yield f"{number} candidates begin at place {first + 1} of {circuit} in round {turn + 1}"
    for seat in table.seats:
        if not day.may_sit(people[seat.candidate], seat.circuit, seat.turn):
            yield f"candidate {seat.candidate} has too little time or another site in round {seat.turn + 1}"


def _met(table: Timetable) -> Iterator[str]:
    """Conflicts that meet, and stations with too few or too many examiners, where anybody sits."""
    day, people = table.day, {each.id: each for each in table.day.candidates}
    present: dict[tuple[int, str], set[str]] = defaultdict(set)
    for duty in table.duties:
        present[duty.turn, duty.circuit].add(duty.examiner)
    for seat in table.seats:
        for examiner in sorted(people[seat.candidate].conflicts & present[seat.turn, seat.circuit]):
            yield f"candidate {seat.candidate} meets {examiner}"
    for turn, circuit in sorted({(each.turn, each.circuit) for each in table.seats}):
        for station in day.stations:
            found = len(table.examiners_at(turn, circuit, station))
            if found != day.examiners_each:
                yield f"{found} examiners at {station} of {circuit} in round {turn + 1}"


def _overworked(table: Timetable) -> Iterator[str]:
    day = table.day
    for examiner in day.examiners:
        own = [each for each in table.duties if each.examiner == examiner.id]
        turns = Counter(each.turn for each in own)
        for turn, number in turns.items():
            if number > 1:
                yield f"examiner {examiner.id} is at {number} stations in round {turn + 1}"
        for duty in own:
            if not examiner.can(duty.circuit, duty.turn, duty.station):
                yield f"examiner {examiner.id} cannot be at {duty.station} in round {duty.turn + 1}"
        for turn in range(len(day.rounds) - day.most_rounds):
            if all(each in turns for each in range(turn, turn + day.most_rounds + 1)):
                yield f"examiner {examiner.id} has no rest from round {turn + 1}"
