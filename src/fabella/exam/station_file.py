"""A station as a file: ``fabella.station/1``, one JSON object; reading it lists everything that is wrong."""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace
from typing import Any, Final

from fabella.errors import Problems
from fabella.exam.proposing import load_domains, load_topics
from fabella.exam.stations import Grade, Item, Station
from fabella.protocol import Protocol
from fabella.protocol.fields import Fields, json_object

STATION_FORMAT: Final = "fabella.station/1"
MOST_ITEMS, MOST_MARKS, LONGEST_MIN, MOST_WEIGHT = 60, 10, 60, 100


def write_station(station: Station) -> str:
    """Return the text of a station; the same station gives the same text."""
    tree = {"format": STATION_FORMAT, **asdict(station)}
    return json.dumps(tree, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def read_station(text: str | bytes, *, protocol: Protocol | None) -> Station:
    """Return the station written in a text; `InputError` lists everything that is wrong with it.

    Its signs have to be of a protocol, its topic and kinds of items of this program. None takes them as they
    are, of a station that was written for good: those of another program hinder neither marks nor decisions.
    """
    problems = Problems()
    station = _station(Fields("station", json_object(text, place="station"), problems), protocol)
    problems += checked(station)
    problems.raise_any()
    return station


def checked(station: Station) -> Problems:
    """Return what a station contradicts itself in, whether it was read from a file or edited on a page."""
    found = Problems()

    def wrong(place: str, value: object, says: str, remedy: str) -> None:
        found.add(f"station, {place}", str(value), says, remedy)

    if not 0 < len(station.items) <= MOST_ITEMS:
        wrong("items", len(station.items), "is no number of items", f"keep 1 to {MOST_ITEMS}")
    for name in _twice(each.id for each in station.items):
        wrong("items", name, "stands there twice", "keep one, or give one another id")
    for item in station.items:
        if not 1 <= item.most <= MOST_MARKS:
            wrong(item.id, len(item.anchors), "is no number of anchors", f"write 2 to {MOST_MARKS + 1}")
        if not 0 < item.weight <= MOST_WEIGHT:  # also when it is no number
            wrong(item.id, item.weight, "is no weight", f"use a number above 0 up to {MOST_WEIGHT}")
    codes = [each.code for each in station.grades]
    if len(codes) < 2 or codes != sorted(set(codes)):  # noqa: PLR2004
        wrong("grades", codes, "are not rising", "write at least two, the lowest first")
    if station.borderline not in codes[:-1]:
        wrong("borderline", station.borderline, "is no grade below the highest", "name the code of one")
    if not 0 < station.minutes <= LONGEST_MIN:
        wrong("minutes", station.minutes, "is no length of a station", f"use up to {LONGEST_MIN}")
    return found


def edited(station: Station, changes: Mapping[str, Any]) -> Station:
    """Return a station with some fields changed; `InputError` when it then contradicts itself."""
    changed = replace(station, **changes)
    checked(changed).raise_any()
    return changed


def _station(fields: Fields, protocol: Protocol | None) -> Station:
    fields.choice("format", {STATION_FORMAT: STATION_FORMAT})
    minutes = fields.number("minutes")
    station = Station(
        id=fields.text("id"),
        title=fields.text("title"),
        topic=_known(fields, "topic", None if protocol is None else load_topics()),
        minutes=0.0 if math.isnan(minutes) else minutes,
        items=tuple(_item(each, protocol) for each in fields.rows("items")),
        task=fields.text("task"),
        volunteer=fields.text("volunteer"),
        equipment=fields.texts("equipment", optional=True),
        version=fields.whole("version", low=1, high=9999),
        grades=tuple(_grade(each) for each in fields.rows("grades")),
        borderline=fields.whole("borderline", low=0, high=99),
    )
    fields.finish()
    return station


def _known(fields: Fields, name: str, known: Iterable[str] | None) -> str:
    """Return a name that has to be a known one; None: any."""
    return fields.text(name) if known is None else fields.choice(name, {each: each for each in known})


def _item(fields: Fields, protocol: Protocol | None) -> Item:
    signs = fields.texts("signs", optional=True)
    for each in signs:
        if protocol is not None and each not in protocol:
            near = " or ".join(protocol.nearest(each))
            remedy = f"did you mean {near}?" if near else ""
            fields.complain("signs", each, "is not in the examination", remedy)
    item = Item(
        id=fields.text("id"),
        words=fields.text("words"),
        domain=_known(fields, "domain", None if protocol is None else load_domains()),
        anchors=fields.texts("anchors"),
        weight=fields.number("weight"),
        signs=signs,
        seconds=fields.whole("seconds", low=0, high=3600),
        critical=fields.flag("critical"),
    )
    fields.finish()
    return item


def _grade(fields: Fields) -> Grade:
    grade = Grade(
        code=fields.whole("code", low=0, high=99), name=fields.text("name"), words=fields.text("words")
    )
    fields.finish()
    return grade


def _twice(names: Iterable[str]) -> list[str]:
    return [name for name, number in Counter(names).items() if number > 1]
