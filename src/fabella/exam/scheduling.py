"""A timetable by mixed-integer programming: who sits where, who examines where, or why it cannot be."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

import numpy as np

from fabella.errors import InputError
from fabella.exam.checking import check_day
from fabella.exam.day import Day, Examiner
from fabella.exam.programme import Chosen, Programme
from fabella.exam.timetable import Duty, Seat, Timetable

_NEW_POST, _RESERVE, _CHANGED_DUTY, _CHANGED_SEAT = 1.0, 5.0, 25.0, 100.0
"""What is avoided, in units of one examiner moving to another station; judgement."""

Block = tuple[int, str]  # round and circuit
Post = tuple[int, str, str]  # round, circuit, station


def make_timetable(
    day: Day, *, kept: Timetable | None = None, begun: int = 0, seconds: float = 20.0
) -> Timetable:
    """Place everybody.

    Parameters
    ----------
    day
        Who is there and what is planned; when somebody drops out, the day without them.
    kept
        An earlier timetable, from which as little is changed as can be.
    begun
        So many rounds have begun: in them everything stays as in ``kept``.
    seconds
        How long may be searched for a better one once there is one; at least for a first.

    Raises
    ------
    InputError
        When the day contradicts itself or nobody can be placed so.
    """
    check_day(day)
    model = _Model(day, kept, begun)
    chosen = model.programme.solve(seconds)
    if chosen is None:
        says = "leaves no way to place everybody"
        remedy = "add an examiner, a round or a circuit, or let somebody examine more stations"
        raise InputError.of(place="day", says=says, remedy=remedy)
    return model.read(chosen)


class _Model:
    """The programme of a day and what its columns mean."""

    def __init__(self, day: Day, kept: Timetable | None, begun: int) -> None:
        self.day, self.begun = day, begun if kept else 0
        self.seats = {each.candidate: each for each in kept.seats} if kept else {}
        self.duties = {_post_of(each) for each in kept.duties} if kept else set()
        self.programme = Programme()
        self.blocks: tuple[Block, ...] = tuple(
            (turn, circuit) for turn in range(len(day.rounds)) for circuit in day.circuits
        )
        self.sits: dict[tuple[str, Block], int] = {}
        self.serves: dict[tuple[str, Post], int] = {}
        self.runs = {block: self.programme.column(0.01 * block[0]) for block in self.blocks}
        self._candidates()
        self._examiners()
        self._conflicts()
        self._past()

    def _candidates(self) -> None:
        programme, day = self.programme, self.day
        inside: dict[Block, list[int]] = defaultdict(list)
        for candidate in day.candidates:
            for block in self.blocks:
                if day.may_sit(candidate, block[1], block[0]):
                    longer = 0.1 * (day.rounds[block[0]].extra_share - candidate.extra_share)
                    seat = self.seats.get(candidate.id)
                    moved = seat is not None and (seat.turn, seat.circuit) != block
                    column = programme.column(longer + _CHANGED_SEAT * moved)
                    self.sits[candidate.id, block] = column
                    inside[block].append(column)
            own = [column for (name, _), column in self.sits.items() if name == candidate.id]
            programme.total(own, 1, 1)
        for block in self.blocks:
            row = dict.fromkeys(inside[block], 1.0)
            programme.row({**row, self.runs[block]: -float(len(day.places))}, -np.inf, 0)

    def _examiners(self) -> None:
        for examiner in self.day.examiners:
            self._serve(examiner)
        at_post: dict[Post, list[int]] = defaultdict(list)
        for (_, post), column in self.serves.items():
            at_post[post].append(column)
        for turn, circuit in self.blocks:
            for station in self.day.stations:
                row = dict.fromkeys(at_post[turn, circuit, station], 1.0)
                each = -float(self.day.examiners_each)
                self.programme.row({**row, self.runs[turn, circuit]: each}, 0, 0)

    def _serve(self, examiner: Examiner) -> None:
        """Where one examiner can be: at one place at a time, with rests, and moving little."""
        programme, day = self.programme, self.day
        in_turn: dict[int, list[int]] = defaultdict(list)
        at_station: dict[tuple[str, str], list[int]] = defaultdict(list)
        for turn, circuit in self.blocks:
            for station in day.stations:
                if examiner.can(circuit, turn, station):
                    column = programme.column(self._cost(examiner, (turn, circuit, station)))
                    self.serves[examiner.id, (turn, circuit, station)] = column
                    in_turn[turn].append(column)
                    at_station[circuit, station].append(column)
        for columns in in_turn.values():
            programme.total(columns, 0, 1)
        for turn in range(len(day.rounds) - day.most_rounds):
            window = [each for near in range(turn, turn + day.most_rounds + 1) for each in in_turn[near]]
            programme.total(window, 0, day.most_rounds)
        for columns in at_station.values():
            is_post = programme.column(_NEW_POST)
            for column in columns:
                programme.row({column: 1.0, is_post: -1.0}, -np.inf, 0)

    def _cost(self, examiner: Examiner, post: Post) -> float:
        changed = bool(self.duties) and (examiner.id, post) not in self.duties
        return _RESERVE * examiner.reserve + _CHANGED_DUTY * changed

    def _conflicts(self) -> None:
        for candidate in self.day.candidates:
            for examiner in candidate.conflicts:
                for block in self.blocks:
                    sits = self.sits.get((candidate.id, block))
                    posts = [self.serves.get((examiner, (*block, station))) for station in self.day.stations]
                    there = [each for each in posts if each is not None]
                    if sits is not None and there:
                        self.programme.total([sits, *there], 0, 1)

    def _past(self) -> None:
        """What has begun stays: every column of it is what it was."""
        for (name, block), column in self.sits.items():
            if block[0] < self.begun:
                seat = self.seats.get(name)
                was = seat is not None and (seat.turn, seat.circuit) == block
                self.programme.total([column], was, was)
        for (name, post), column in self.serves.items():
            if post[0] < self.begun:
                was = (name, post) in self.duties
                self.programme.total([column], was, was)

    def read(self, chosen: Chosen) -> Timetable:
        """Return the timetable; whoever keeps their round keeps their first place."""
        block_of = {name: block for (name, block), column in self.sits.items() if chosen[column]}
        running = set(block_of.values())
        duties = [
            Duty(turn=turn, circuit=circuit, station=station, examiner=name)
            for (name, (turn, circuit, station)), column in self.serves.items()
            if chosen[column] and (turn, circuit) in running
        ]
        return Timetable(
            day=self.day, seats=tuple(sorted(self._seats(block_of))), duties=tuple(sorted(duties))
        )

    def _seats(self, block_of: Mapping[str, Block]) -> Iterator[Seat]:
        places = len(self.day.places)  # fewer than there were, if the plan has fewer rests now
        for block in self.blocks:
            inside = [each.id for each in self.day.candidates if block_of[each.id] == block]
            first = {
                name: seat.first
                for name, seat in self.seats.items()
                if name in inside and (seat.turn, seat.circuit) == block and seat.first < places
            }
            free = [each for each in range(places) if each not in first.values()]
            first |= dict(zip((name for name in inside if name not in first), free, strict=False))
            for name in inside:
                yield Seat(turn=block[0], circuit=block[1], first=first[name], candidate=name)


def _post_of(duty: Duty) -> tuple[str, Post]:
    return duty.examiner, (duty.turn, duty.circuit, duty.station)
