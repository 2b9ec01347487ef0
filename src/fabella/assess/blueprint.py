"""What an exam consists of: stations, their items and the scale of the global grade, fixed before the day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fabella.errors import InputError, Problem


def _as_floats(noun: object, *names: str) -> None:
    for name in names:  # 1 and 1.0 are one maximum, and must be one in what identifies an exam
        object.__setattr__(noun, name, float(getattr(noun, name)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing a candidate is marked on at a station.

    Parameters
    ----------
    code
        Short name, unique within its station.
    max_mark
        Highest mark [marks], above 0; the lowest is 0.
    weight
        Factor of the mark in the station score [-], above 0.
    domain
        What it shows (``technique``, ``communication``); empty when the station is not divided.
    critical
        True for an item of safety: it acts through a rule of its own and never through its weight.
    """

    code: str
    max_mark: float
    weight: float = 1.0
    domain: str = ""
    critical: bool = False

    def __post_init__(self) -> None:
        _as_floats(self, "max_mark", "weight")


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """One station with its items in the order of the mark sheet.

    Parameters
    ----------
    code
        Short name, unique within the exam.
    items
        At least one.
    weight
        Share of the station in the exam [-], above 0; only the ratio to other stations matters.
    """

    code: str
    items: tuple[Item, ...]
    weight: float = 1.0

    def __post_init__(self) -> None:
        _as_floats(self, "weight")


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeScale:
    """The scale of the global grade, an examiner's judgement of the whole that no mark is computed from.

    Parameters
    ----------
    values
        Codes in rising order [grade]; 0 to 4 stand for fail, borderline, pass, good, excellent unless a
        school counts otherwise.
    names
        One name a value, same order.
    borderline
        The value that means borderline; one of `values`, not the highest.
    """

    values: tuple[float, ...] = (0, 1, 2, 3, 4)
    names: tuple[str, ...] = ("fail", "borderline", "pass", "good", "excellent")
    borderline: float = 1

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", tuple(map(float, self.values)))
        _as_floats(self, "borderline")


@dataclass(frozen=True, slots=True, kw_only=True)
class Blueprint:
    """The stations of an exam and the scale of its global grade.

    Raises
    ------
    InputError
        When a name is empty or stands twice, a maximum or weight is not above 0, a station has no items or
        the scale of grades does not hold its own borderline; all such problems are listed.
    """

    stations: tuple[Station, ...]
    grades: GradeScale = GradeScale()

    def __post_init__(self) -> None:
        if wrong := tuple(_wrong(self)):
            raise InputError(wrong)

    @property
    def station_codes(self) -> tuple[str, ...]:
        """Return the codes of the stations in their order."""
        return tuple(station.code for station in self.stations)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ItemTable:
    """All items of an exam, station after station, as arrays with one entry an item.

    ``station`` is the position of its station and ``domain`` that of its domain in ``domains``; ``first``
    is the position of each station's first item (one entry a station, and the number of items at the end).
    """

    codes: tuple[str, ...]
    station: NDArray[np.int32]
    max_mark: NDArray[np.float64]
    weight: NDArray[np.float64]
    domain: NDArray[np.int32]
    critical: NDArray[np.bool_]
    domains: tuple[str, ...]
    first: NDArray[np.int32]


@lru_cache(maxsize=32)
def item_table(blueprint: Blueprint) -> ItemTable:
    """Return the items of an exam as read-only arrays; domains in alphabetical order."""
    items = [(s, item) for s, station in enumerate(blueprint.stations) for item in station.items]
    domains = tuple(sorted({item.domain for _, item in items}))
    lengths = [len(station.items) for station in blueprint.stations]
    table = ItemTable(
        codes=tuple(item.code for _, item in items),
        station=np.array([s for s, _ in items], dtype=np.int32),
        max_mark=np.array([item.max_mark for _, item in items], dtype=np.float64),
        weight=np.array([item.weight for _, item in items], dtype=np.float64),
        domain=np.array([domains.index(item.domain) for _, item in items], dtype=np.int32),
        critical=np.array([item.critical for _, item in items], dtype=np.bool_),
        domains=domains,
        first=np.concatenate([[0], np.cumsum(lengths)]).astype(np.int32),
    )
    for array in (table.station, table.max_mark, table.weight, table.domain, table.critical, table.first):
        array.setflags(write=False)
    return table


def _wrong(blueprint: Blueprint) -> Iterable[Problem]:
    if not blueprint.stations:
        yield Problem(place="stations", says="are missing", remedy="name at least one station")
    yield from _names("stations", [station.code for station in blueprint.stations])
    for station in blueprint.stations:
        if not station.items:
            yield Problem(place=station.code, says="has no items", remedy="give it at least one")
        yield from _names(station.code, [item.code for item in station.items])
        yield from _positive(f"{station.code}.weight", station.weight)
        for item in station.items:
            yield from _positive(f"{station.code}.{item.code}.max", item.max_mark)
            yield from _positive(f"{station.code}.{item.code}.weight", item.weight)
    yield from _wrong_grades(blueprint.grades)


def _names(place: str, names: list[str]) -> Iterable[Problem]:
    for name in sorted({each for each in names if names.count(each) > 1 or not each.strip()}):
        says = "stands more than once" if name.strip() else "has an empty name"
        yield Problem(place=place, value=name, says=says, remedy="give each a name of its own")


def _positive(place: str, value: float) -> Iterable[Problem]:
    if not 0 < value < np.inf:
        yield Problem(place=place, value=str(value), says="is out of range", remedy="use a number above 0")


def _wrong_grades(grades: GradeScale) -> Iterable[Problem]:
    values = grades.values
    if len(values) != len(grades.names):
        yield Problem(
            place="grades.names",
            value=str(len(grades.names)),
            says="names do not fit",
            remedy=f"use {len(values)}, one a value",
        )
    if any(low >= high for low, high in pairwise(values)):
        yield Problem(place="grades.values", value=str(values), says="do not rise", remedy="lowest first")
    if grades.borderline not in values[:-1]:
        yield Problem(
            place="grades.borderline",
            value=str(grades.borderline),
            says="is no grade below the highest",
            remedy=f"use one of {', '.join(map(str, values[:-1]))}",
        )
