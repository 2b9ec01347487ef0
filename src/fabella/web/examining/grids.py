"""A timetable as it is read: by round and circuit, by candidate, by examiner."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from fabella.exam import Day, Duty, Stop, Timetable, clock
from fabella.web.examining.changes import seat_words
from fabella.web.examining.drafting import Draft, full_name

Visits = tuple[tuple[str, str], ...]
"""When, and whom or where."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line of a table: of whom or what it is, what is said beside the name, and when what happens."""

    name: str
    beside: str
    visits: Visits


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Lines that belong together, under a title; ``in_turn``: all of them have the same times."""

    title: str
    lines: tuple[Line, ...]
    in_turn: bool = False


def round_titles(day: Day) -> tuple[str, ...]:
    """Return each round with its times: ``Round 2, 10:30 to 11:50, stations 25 % longer``."""
    return tuple(
        f"Round {turn + 1}, {clock(each.begins_min)} to {clock(day.ends_min(turn))}"
        + (f", stations {100 * each.extra_share:.0f} % longer" if each.extra_share else "")
        for turn, each in enumerate(day.rounds)
    )


def by_circuit(table: Timetable, draft: Draft) -> tuple[Block, ...]:
    """Return a block for each round of a circuit in which anybody sits, a line for each place."""
    return tuple(_circuits(table, draft))


def by_candidate(table: Timetable, draft: Draft) -> tuple[Block, ...]:
    """Return a line for each candidate, by name."""
    stops: dict[str, list[Stop]] = defaultdict(list)
    for stop in table.stops():
        stops[stop.candidate].append(stop)
    lines = tuple(
        Line(
            name=seat.candidate,
            beside=seat_words(table, seat, draft.names).partition(", beginning")[0],
            visits=tuple(
                (clock(each.begins_min), _place(each.station, draft.names)) for each in stops[seat.candidate]
            ),
        )
        for seat in sorted(table.seats, key=lambda each: each.candidate.casefold())
    )
    return (Block(title="Candidates, by name", lines=lines),)


def by_examiner(table: Timetable, draft: Draft) -> tuple[Block, ...]:
    """Return a line for each examiner: where they are in each round, with times."""
    day = table.day
    names, duties = draft.names, defaultdict[str, list[Duty]](list)
    for duty in table.duties:
        duties[duty.examiner].append(duty)
    lines = tuple(
        Line(
            name=each.id,
            beside="reserve" if each.reserve else "",
            visits=tuple(
                (
                    f"{clock(day.rounds[duty.turn].begins_min)} to {clock(day.ends_min(duty.turn))}",
                    f"round {duty.turn + 1}, circuit {duty.circuit}, {names.get(duty.station, duty.station)}",
                )
                for duty in sorted(duties[each.id])
            ),
        )
        for each in sorted(day.examiners, key=lambda each: each.id.casefold())
    )
    return (Block(title="Examiners, by name", lines=lines),)


VIEWS = {"circuits": by_circuit, "candidates": by_candidate, "examiners": by_examiner}
"""The ways in which a timetable is read."""


def _circuits(table: Timetable, draft: Draft) -> Iterator[Block]:
    day, titles = table.day, round_titles(table.day)
    titles_of = {each: full_name(each, title) for each, title in draft.titles.items()}
    seated = {(seat.turn, seat.circuit) for seat in table.seats}
    turn_of = {seat.candidate: seat.turn for seat in table.seats}
    at: dict[tuple[int, str, str | None], list[Stop]] = defaultdict(list)
    for stop in sorted(table.stops(), key=lambda each: each.begins_min):
        at[turn_of[stop.candidate], stop.circuit, stop.station].append(stop)
    for turn in range(len(day.rounds)):
        for circuit in day.circuits:
            if (turn, circuit) not in seated:
                continue
            places = dict.fromkeys(day.places)
            yield Block(
                title=f"Circuit {circuit}. {titles[turn]}",
                in_turn=True,
                lines=tuple(
                    Line(
                        name=titles_of.get(station, station) if station else "Rest",
                        beside=", ".join(table.examiners_at(turn, circuit, station)) if station else "",
                        visits=tuple(_in_turn(day, turn, at[turn, circuit, station])),
                    )
                    for station in places
                ),
            )


def _in_turn(day: Day, turn: int, stops: list[Stop]) -> Iterator[tuple[str, str]]:
    """Yield every time of a round with who stands there then, or a dash."""
    there = {clock(stop.begins_min): stop.candidate for stop in stops}
    for step in range(len(day.places)):
        begins = clock(day.rounds[turn].begins_min + step * day.slot_min(turn))
        yield begins, there.get(begins, "–")


def _place(station: str | None, names: Mapping[str, str]) -> str:
    return "rest" if station is None else names.get(station, station)
