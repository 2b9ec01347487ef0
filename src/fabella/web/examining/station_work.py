"""A station while it is written: items taken in, left out and put in order, and the seconds they come to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from fabella.exam import (
    Item,
    Station,
    Template,
    load_templates,
    load_topics,
    propose_station,
    station_seconds,
    unasked,
    with_items,
)
from fabella.protocol import load_protocol
from fabella.web.forms import rearranged


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """What a station takes: ``over_s`` seconds more than it lasts (0: it fits); ``words`` say so."""

    seconds: int
    over_s: int
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """Items that a station does not have: those of its topic that hurt, its other ones, and all else."""

    painful: tuple[Item, ...]
    meant: tuple[Item, ...]
    others: tuple[Item, ...]


def times_of(station: Station) -> Times:
    """Return what the items of a station take together, each position of the patient taken up once."""
    seconds = station_seconds(station, load_protocol())
    lasts = round(60 * station.minutes)
    over = max(0, seconds - lasts)
    words = f"Done one after the other the items take about {_spoken(seconds)} of {_spoken(lasts)}."
    if over:
        words = (
            f"These items cannot be done in the time: they take about {_spoken(seconds)}, and the station "
            f"lasts {_spoken(lasts)}. Leave out some that take {_spoken(over)}, or make it longer."
        )
    return Times(seconds=seconds, over_s=over, words=words)


def spare_items(station: Station) -> Spare:
    """Return what could be added."""
    there = {each.id for each in station.items}
    painful = _painful(station) if station.topic in load_topics() else frozenset()
    spare = [each for each in _templates() if each.item.id not in there]
    meant = [each.item for each in spare if each.meant_for(station.topic)]
    return Spare(
        painful=tuple(each for each in meant if each.id in painful),
        meant=tuple(each for each in meant if each.id not in painful),
        others=tuple(each.item for each in spare if not each.meant_for(station.topic)),
    )


def _painful(station: Station) -> frozenset[str]:
    made = propose_station(load_protocol(), topic=station.topic, minutes=8, station_id=station.id)
    return frozenset(each.id for each in made.painful)


def untold(station: Station) -> str:
    """Return what neither the sheet asks for nor the instruction for the door names; empty: nothing."""
    task = station.task.casefold()
    left_out = unasked(station.items, station.topic, load_protocol())
    return "; ".join(each for each in left_out if each.casefold() not in task)


def with_item(station: Station, item_id: str) -> Station:
    """Return a station with an item of the protocol added, in the order of an examination; see `moved`."""
    order = [each.item.id for each in _templates()]
    new = next(each.item for each in _templates() if each.item.id == item_id)
    later = set(order[order.index(item_id) + 1 :])
    place = next((n for n, each in enumerate(station.items) if each.id in later), len(station.items))
    return with_items(station, (*station.items[:place], new, *station.items[place:]), load_protocol())


def moved(station: Station, move: str) -> Station | None:
    """Return a station after what a button says: ``up:greets``, ``add:drawers``; None for anything else."""
    what, _, name = move.partition(":")
    item = next((each for each in station.items if each.id == name), None)
    if what == "add" and item is None and any(each.item.id == name for each in _templates()):
        return with_item(station, name)
    if what not in ("up", "down", "out") or item is None:
        return None
    return with_items(station, tuple(rearranged(station.items, item, what)), load_protocol())


def free_name(names: Sequence[str]) -> str:
    """Return the lowest number that no station has."""
    return next(str(number) for number in range(1, len(names) + 2) if str(number) not in names)


def free_item(station: Station) -> str:
    """Return an id for an item of the team's own."""
    there = {each.id for each in station.items}
    return next(each for each in map("own_{}".format, range(1, len(there) + 2)) if each not in there)


def topic_options() -> tuple[tuple[str, str], ...]:
    """Return what a station can test: value and words."""
    return tuple((each.id, each.name) for each in load_topics().values())


@cache
def _templates() -> tuple[Template, ...]:
    return load_templates(load_protocol())


def _spoken(seconds: int) -> str:
    minutes, rest = divmod(seconds, 60)
    told = [f"{minutes} min"] if minutes else []
    return " ".join([*told, f"{rest} s"] if rest or not told else told)
