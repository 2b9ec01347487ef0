"""A station proposed from the protocol: items for a topic, the seconds they take, and what was left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType
from typing import Any, Final

from fabella.errors import Problems, suggestion
from fabella.exam.asking import equipment_for, for_candidate, for_volunteer
from fabella.exam.stations import Domain, Item, Station
from fabella.packaged import packaged_table
from fabella.protocol import Protocol

EVERY: Final = "every"
PAINFUL: Final = 2
"""A sign that hurts so much is left out unless the team wants it: a volunteer is examined all day."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Topic:
    """What a station can test, and what it asks of the candidate, in words.

    ``yields`` are the ids of items that go, the first first, where the time does not suffice for all.
    """

    id: str
    name: str
    task: str
    yields: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """An item that a sheet can have, and the topics that it is meant for.

    ``called`` is what a candidate calls it who is told to leave it out; empty for what every station asks.
    """

    item: Item
    topics: frozenset[str]
    called: str

    def meant_for(self, topic: str) -> bool:
        """Whether it belongs to stations of a topic."""
        return bool(self.topics & {topic, EVERY})


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A station with what it takes: ``over_s`` seconds more than its time (0 when it fits).

    ``painful`` are items of the topic that were left out as they hurt, ``hurried`` those for which there is
    no time.
    """

    station: Station
    seconds: int
    over_s: int
    painful: tuple[Item, ...]
    hurried: tuple[Item, ...]


@cache
def load_topics() -> Mapping[str, Topic]:
    """Return every topic by id, in the order of the data file."""
    data = _data("topics")
    last = tuple(data["yields_last"])
    return MappingProxyType(
        {row["id"]: Topic(**{**row, "yields": (*row["yields"], *last)}) for row in data["topic"]}
    )


@cache
def load_domains() -> Mapping[str, Domain]:
    """Return every domain by id."""
    return MappingProxyType(
        {
            name: Domain(id=name, name=row["name"], anchors=tuple(row["anchors"]))
            for name, row in _data("items")["domains"].items()
        }
    )


def load_templates(protocol: Protocol) -> tuple[Template, ...]:
    """Return every item that a sheet can have, in the order of an examination."""
    return tuple(_template(row, protocol) for row in _data("items")["item"])


def propose_station(
    protocol: Protocol, *, topic: str, minutes: float, station_id: str, painful: bool = False
) -> Proposal:
    """Propose a station that fits its time: where the protocol's seconds are too many, items yield.

    Parameters
    ----------
    protocol
        From which the seconds come, and what hurts.
    topic
        What it tests (`load_topics`).
    minutes
        Its length, 2 to 60.
    station_id
        Its name in the exam.
    painful
        Whether to keep what hurts.

    Raises
    ------
    InputError
        For a topic or a length that there is not.
    """
    topics = load_topics()
    problems = Problems()
    if topic not in topics:
        problems.add("topic", topic, "is none", suggestion(topic, topics))
    if not 2 <= minutes <= 60:  # noqa: PLR2004
        problems.add("minutes", f"{minutes:g}", "is no length of a station", "use 2 to 60 minutes")
    problems.raise_any()
    meant = [each.item for each in load_templates(protocol) if each.meant_for(topic)]
    hurting = [each for each in meant if not painful and _hurts(each, protocol)]
    wanted = tuple(each for each in meant if each not in hurting)
    items = _in_time(wanted, topics[topic].yields, protocol, seconds=round(60 * minutes))
    station = Station(
        id=station_id,
        title=topics[topic].name,
        topic=topic,
        minutes=minutes,
        items=items,
        task=_task(items, topic, protocol),
        volunteer=_volunteer(items, topic, protocol, minutes),
        equipment=_equipment(items),
    )
    seconds = station_seconds(station, protocol)
    return Proposal(
        station=station,
        seconds=seconds,
        over_s=max(0, seconds - round(60 * minutes)),
        painful=tuple(hurting),
        hurried=tuple(each for each in wanted if each not in items),
    )


def with_items(station: Station, items: tuple[Item, ...], protocol: Protocol) -> Station:
    """Return a station with other items; what people read follows, unless it was put otherwise."""
    before, after = written(station, protocol), written(replace(station, items=items), protocol)
    return replace(
        station,
        items=items,
        task=after.task if station.task == before.task else station.task,
        volunteer=after.volunteer if station.volunteer == before.volunteer else station.volunteer,
        equipment=after.equipment if station.equipment == before.equipment else station.equipment,
    )


def written(station: Station, protocol: Protocol) -> Station:
    """Return a station with everything that people read as it follows from its items."""
    return replace(
        station,
        task=_task(station.items, station.topic, protocol),
        volunteer=_volunteer(station.items, station.topic, protocol, station.minutes),
        equipment=_equipment(station.items),
    )


def unasked(items: Iterable[Item], topic: str, protocol: Protocol) -> tuple[str, ...]:
    """Return what belongs to a topic and is not among the items, as a candidate calls it."""
    there = {each.id for each in items}
    return tuple(
        each.called
        for each in load_templates(protocol)
        if each.called and each.meant_for(topic) and each.item.id not in there
    )


def station_seconds(station: Station, protocol: Protocol) -> int:
    """Return what the items of a station take, each position of the patient taken up once."""
    return _seconds(station.items, protocol)


def _seconds(items: Iterable[Item], protocol: Protocol) -> int:
    these = tuple(items)
    signs = dict.fromkeys(sign for item in these for sign in item.signs if sign in protocol)
    return protocol.seconds(signs) + sum(each.seconds - _of_signs(each.signs, protocol) for each in these)


def _in_time(
    items: tuple[Item, ...], yields: tuple[str, ...], protocol: Protocol, *, seconds: int
) -> tuple[Item, ...]:
    """Return the items that there is time for: some yield, and the last to go come back where they fit."""
    gone: list[str] = []

    def left(without: Iterable[str]) -> tuple[Item, ...]:
        return tuple(each for each in items if each.id not in without)

    for name in yields:
        if _seconds(left(gone), protocol) <= seconds:
            break
        gone.append(name)
    for name in reversed(gone[:]):
        fewer = [each for each in gone if each != name]
        if _seconds(left(fewer), protocol) <= seconds:
            gone = fewer
    return left(gone)


def _template(row: Mapping[str, Any], protocol: Protocol) -> Template:
    signs = tuple(row.get("signs", ()))
    item = Item(
        id=row["id"],
        words=row["words"],
        domain=row["domain"],
        anchors=tuple(row.get("anchors", load_domains()[row["domain"]].anchors)),
        signs=signs,
        seconds=row.get("seconds", 0) + _of_signs(signs, protocol),
        critical=row.get("critical", False),
    )
    return Template(item=item, topics=frozenset(row["topics"]), called=row.get("called", ""))


def _of_signs(signs: tuple[str, ...], protocol: Protocol) -> int:
    return sum(protocol.sign(each).seconds_in_all for each in signs if each in protocol)


def _hurts(item: Item, protocol: Protocol) -> bool:
    return any(protocol.sign(each).hurts >= PAINFUL for each in item.signs)


def _task(items: tuple[Item, ...], topic: str, protocol: Protocol) -> str:
    known = load_topics().get(topic)  # a kept station may be of a topic of another program
    return for_candidate(known.task if known else "", items, unasked(items, topic, protocol))


def _volunteer(items: tuple[Item, ...], topic: str, protocol: Protocol, minutes: float) -> str:
    meant = [each.item for each in load_templates(protocol) if each.meant_for(topic)]
    return for_volunteer(items, meant, protocol, minutes)


def _equipment(items: tuple[Item, ...]) -> tuple[str, ...]:
    return equipment_for(items, _data("topics")["equipment"])


def _data(name: str) -> Mapping[str, Any]:
    return packaged_table(f"exam/data/{name}.toml")
