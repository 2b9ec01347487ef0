"""Blueprints as files: a table of items in CSV to write by hand, JSON to freeze with the marks."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from math import inf, isfinite
from typing import Any, Final
from unicodedata import category

from fabella.assess.blueprint import Blueprint, GradeScale, Item, Station
from fabella.assess.json_text import parsed
from fabella.assess.reading import read_columns
from fabella.errors import InputError, Problem, Problems

FORMAT: Final = "fabella.exam-blueprint/1"
REQUIRED = ("station", "item", "max")
OPTIONAL = ("weight", "domain", "critical", "station_weight")
_FLAGS = {"": False, "no": False, "yes": True}


def read_item_table(content: bytes | str) -> Blueprint:
    """Return the blueprint in a CSV file with one row an item, stations and items in the order of the rows.

    Parameters
    ----------
    content
        The file: UTF-8, a header with the columns of `REQUIRED` and any of `OPTIONAL`. ``max``, ``weight``
        and ``station_weight`` are numbers above 0, empty weights 1; ``critical`` is yes, no or empty.
        The weight of a station may stand on any of its rows.

    Raises
    ------
    InputError
        Lists everything that is wrong, each with its line.
    """
    columns, lines = read_columns(
        content, required=REQUIRED, optional=OPTIONAL, numbers=("max", "weight", "station_weight")
    )
    wrong = Problems()
    items: dict[str, dict[str, Item]] = {}
    weights: dict[str, float] = {}
    for row, line in enumerate(lines):
        cells = {name: column[row] for name, column in columns.items()}
        station, code = cells["station"], cells["item"]
        if not (station and code):
            wrong.add(f"line {line}", "", "has an empty name", "name a station and an item in every row")
            continue
        if code in items.setdefault(station, {}):
            says = f"stands twice at station '{station}'"
            wrong.add(f"line {line}, item", code, says, "give it another name")
        if weight := cells.get("station_weight", ""):
            number = _number(cells, "station_weight", line, wrong)
            if weights.setdefault(station, number) != number:
                says = "differs within one station"
                problem = Problem(
                    place=f"line {line}, station_weight", value=weight, says=says, remedy="keep one"
                )
                wrong.append(problem)
        items[station][code] = Item(
            code=code,
            max_mark=_number(cells, "max", line, wrong),
            weight=_number(cells, "weight", line, wrong) if cells.get("weight") else 1.0,
            domain=cells.get("domain", ""),
            critical=_flag(cells.get("critical", ""), line, wrong),
        )
    wrong.raise_any()
    return Blueprint(
        stations=tuple(
            Station(code=code, items=tuple(each.values()), weight=weights.get(code, 1.0))
            for code, each in items.items()
        ),
    )


def write_blueprint(blueprint: Blueprint) -> str:
    """Return a blueprint as JSON with a fixed order of keys: equal blueprints, equal text."""
    return json.dumps({"format": FORMAT, **asdict(blueprint)}, indent=1, ensure_ascii=False)


def read_blueprint(text: str) -> Blueprint:
    """Return the blueprint in a text by `write_blueprint`; `InputError` tells what is wrong with another."""
    tree: Any = parsed(text, remedy=f"use a file of format '{FORMAT}'")
    try:
        found = tree["format"]
        scale = {name: _tuple(value) for name, value in tree["grades"].items()}
        stations = tuple(
            Station(**{**each, "items": tuple(Item(**item) for item in each["items"])})
            for each in tree["stations"]
        )
        grades = GradeScale(**scale)
        _check_kinds(stations, grades)
        blueprint = Blueprint(stations=stations, grades=grades)
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        says = f"is not a blueprint ({type(error).__name__}: {error})"
        raise InputError.of(place="blueprint", says=says, remedy=f"use a file of format '{FORMAT}'") from None
    if found != FORMAT:
        says, remedy = "is not a known format", f"use '{FORMAT}'"
        raise InputError.of(place="format", value=str(found), says=says, remedy=remedy)
    return blueprint


def _check_kinds(stations: Sequence[Station], grades: GradeScale) -> None:
    """Raise `TypeError` where something stands in the place of a text, or of yes and no."""
    texts: list[tuple[str, object]] = [("the name of a grade", name) for name in grades.names]
    for station in stations:
        texts.append(("the code of a station", station.code))
        for item in station.items:
            texts += [("the code of an item", item.code), (f"the domain of {item.code!r:.40}", item.domain)]
            if not isinstance(item.critical, bool):
                raise TypeError(f"critical of {item.code!r:.40} is not true or false")
    for place, text in texts:
        if not isinstance(text, str) or any(category(each) in {"Cc", "Cs"} for each in text):
            raise TypeError(f"{place} is no text that can be printed: {text!r:.40}")


def _number(cells: Mapping[str, str], name: str, line: int, wrong: Problems) -> float:
    text = cells[name]
    try:
        number = float(text)
    except ValueError:
        number = inf
    if isfinite(number) and number > 0:
        return number
    says = "is empty" if not text else "is out of range" if isfinite(number) else "is not a number"
    wrong.add(f"line {line}, {name}", text, says, "write a number above 0")
    return 1.0


def _flag(text: str, line: int, wrong: Problems) -> bool:
    if text not in _FLAGS:
        wrong.add(f"line {line}, critical", text, "is not understood", "write yes, no or nothing")
    return _FLAGS.get(text, False)


def _tuple(value: Any) -> Any:
    return tuple(value) if isinstance(value, Sequence) and not isinstance(value, str) else value
