"""The day of an exam before anybody is placed: circuits, rounds, rests, who examines and who is examined."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, replace

MINUTES_OF_A_DAY = 24 * 60
"""When a day is over, in minutes after its midnight."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One turn of all circuits at the same time.

    Parameters
    ----------
    begins_min
        Minutes after midnight.
    extra_share
        How much longer stations last than usual, 0 to 1; who has a right to more time sits in such a round.
    """

    begins_min: int
    extra_share: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Examiner:
    """Somebody who may be put at a station.

    Parameters
    ----------
    stations, circuits
        Where they can examine; empty: anywhere.
    away
        Rounds in which they are not there, counted from 0.
    reserve
        Put at a station only where nobody else is left.
    """

    id: str
    stations: frozenset[str] = frozenset()
    circuits: frozenset[str] = frozenset()
    away: frozenset[int] = frozenset()
    reserve: bool = False

    def can(self, circuit: str, turn: int, station: str) -> bool:
        """Whether they can be put there."""
        return (
            turn not in self.away
            and (not self.stations or station in self.stations)
            and (not self.circuits or circuit in self.circuits)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """Somebody who is examined: their share of extra time, and by whom they must not be examined."""

    id: str
    extra_share: float = 0.0
    conflicts: frozenset[str] = frozenset()
    circuits: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """Everything from which a timetable is made.

    Parameters
    ----------
    stations
        In the order of the circuit; every circuit has them all.
    rests
        Places in a circuit at which a candidate rests; they are spread evenly.
    circuits
        Names of circuits that run at the same time, also on other sites.
    rounds
        In order of time.
    station_min, change_min
        Minutes at a station, and to walk on and read.
    examiners_each
        How many examine together at a station.
    most_rounds
        How many rounds somebody may examine without a rest.
    """

    stations: tuple[str, ...]
    circuits: tuple[str, ...]
    rounds: tuple[Round, ...]
    examiners: tuple[Examiner, ...]
    candidates: tuple[Candidate, ...]
    rests: int = 0
    station_min: float = 8.0
    change_min: float = 2.0
    examiners_each: int = 1
    most_rounds: int = 3

    @property
    def places(self) -> tuple[str | None, ...]:
        """Where a circuit leads, one place after the other; None where one rests."""
        n, rests = len(self.stations), self.rests
        after = Counter((each + 1) * n // rests for each in range(rests)) if rests else Counter()
        found: list[str | None] = []
        for number, station in enumerate(self.stations, 1):
            found += [station, *[None] * after[number]]
        return tuple(found)

    @property
    def room(self) -> int:
        """How many candidates the day takes."""
        return len(self.places) * len(self.circuits) * len(self.rounds)

    def slot_min(self, turn: int) -> float:
        """Minutes from bell to bell in a round, the change included."""
        return self.station_min * (1 + self.rounds[turn].extra_share) + self.change_min

    def ends_min(self, turn: int) -> float:
        """When a round is over, in minutes after midnight."""
        return self.rounds[turn].begins_min + len(self.places) * self.slot_min(turn)

    def may_sit(self, candidate: Candidate, circuit: str, turn: int) -> bool:
        """Whether a round gives a candidate the time they have a right to, at a site where they can be."""
        enough = self.rounds[turn].extra_share >= candidate.extra_share - 1e-9
        return enough and (not candidate.circuits or circuit in candidate.circuits)


def going_on(before: Day, planned: Day, begun: int) -> Day:
    """Return a day planned anew while it goes on: so many rounds have begun, and stay as they were before.

    A circuit is walked in one order and at one pace all day, so order of the stations, rests, minutes and
    examiners at each station stay, too; circuits that have begun are not taken away.
    """
    if not begun:
        return planned
    return replace(
        planned,
        stations=before.stations,
        circuits=tuple(dict.fromkeys((*before.circuits, *planned.circuits))),
        rounds=(*before.rounds[:begun], *planned.rounds[begun:]),
        rests=before.rests,
        station_min=before.station_min,
        change_min=before.change_min,
        examiners_each=before.examiners_each,
    )


def clock(minutes: float) -> str:
    """Return minutes after midnight as a time of day."""
    whole = int(minutes)
    return f"{whole // 60:02d}:{whole % 60:02d}"


def read_clock(text: str) -> int | None:
    """Return a time of day that was typed, as ``9:05``, in minutes after midnight; None where it is none."""
    found = _CLOCK.fullmatch(text.strip())
    return int(found[1]) * 60 + int(found[2]) if found else None


_CLOCK = re.compile(r"([01]?\d|2[0-3])[:.]([0-5]\d)")
