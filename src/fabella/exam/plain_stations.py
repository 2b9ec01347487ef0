"""Stations of which only codes and maxima are known, so that they can be spoken of like any other."""

from __future__ import annotations

from fabella import assess
from fabella.exam.stations import Grade, Item, Station


def plain_stations(blueprint: assess.Blueprint) -> tuple[Station, ...]:
    """Return the stations of a blueprint; items are called by their codes, anchors by their marks."""
    grades = tuple(
        Grade(code=int(value), name=name, words="")
        for value, name in zip(blueprint.grades.values, blueprint.grades.names, strict=True)
    )
    return tuple(
        Station(
            id=each.code,
            title=f"Station {each.code}",
            topic="",
            minutes=0.0,
            items=tuple(map(_item, each.items)),
            task="",
            volunteer="",
            equipment=(),
            grades=grades,
            borderline=int(blueprint.grades.borderline),
        )
        for each in blueprint.stations
    )


def _item(item: assess.Item) -> Item:
    whole = int(item.max_mark)
    return Item(
        id=item.code,
        words=item.code.replace("_", " "),
        domain=item.domain,
        anchors=tuple(f"{mark} of {item.max_mark:g}" for mark in range(whole + 1)),
        weight=item.weight,
        critical=item.critical,
    )
