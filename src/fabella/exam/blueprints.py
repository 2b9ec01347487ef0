"""Stations as the analysis of marks knows them, and back: of those only codes and maxima are known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from fabella import assess
from fabella.errors import InputError
from fabella.exam.stations import Grade, Item, Station


def blueprint_of(
    stations: Sequence[Station], *, weights: Mapping[str, float] = MappingProxyType({})
) -> assess.Blueprint:
    """Return the blueprint of an exam.

    Parameters
    ----------
    stations
        All with the same scale of grades.
    weights
        Share of a station in the exam, above 0, by its id; 1 where none is given.

    Raises
    ------
    InputError
        When stations are graded on different scales, or contradict each other otherwise.
    """
    if odd := [each.id for each in stations if _scale(each) != _scale(stations[0])]:
        remedy = "use one scale of grades for the whole exam"
        says = "are graded on another scale than the first"
        raise InputError.of(place="stations", value=", ".join(odd), says=says, remedy=remedy)
    return assess.Blueprint(
        stations=tuple(
            assess.Station(
                code=station.id,
                weight=weights.get(station.id, 1.0),
                items=tuple(
                    assess.Item(
                        code=item.id,
                        max_mark=item.most,
                        weight=item.weight,
                        domain=item.domain,
                        critical=item.critical,
                    )
                    for item in station.items
                ),
            )
            for station in stations
        ),
        grades=_grades(stations[0]) if stations else assess.GradeScale(),
    )


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


def _scale(station: Station) -> tuple[object, int]:
    return station.grades, station.borderline


def _grades(station: Station) -> assess.GradeScale:
    return assess.GradeScale(
        values=tuple(each.code for each in station.grades),
        names=tuple(each.name for each in station.grades),
        borderline=station.borderline,
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
