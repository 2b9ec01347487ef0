"""Estimates of Angoff's judges as a table: a line a station or item, a column a judge, in percent."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import StringIO
from itertools import zip_longest
from typing import Final

from fabella.assess import Estimates
from fabella.errors import InputError, Problems, suggestion
from fabella.exam import Station
from fabella.report.spreadsheet import no_formula
from fabella.web.analysing.bounds_table import percent
from fabella.web.tables import read_lines

STATIONS, ITEMS = "stations", "items"
MOST_CELLS: Final = 600
"""Cells that a page asks for; a larger table is pasted or uploaded."""

_LONGEST, _FEWEST = 40, 2
_HEADS: Final = {STATIONS: "station", ITEMS: "item"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What is estimated: its code, what the page calls it, and what it is worth [marks]."""

    code: str
    words: str
    worth: float


def lines_of(stations: Sequence[Station], of: str) -> tuple[Line, ...]:
    """Return what is estimated, station by station or item by item."""
    if of == STATIONS:
        return tuple(Line(code=each.id, words=each.title, worth=each.most) for each in stations)
    return tuple(
        Line(code=f"{each.id}/{item.id}", words=item.words, worth=item.most * item.weight)
        for each in stations
        for item in each.items
    )


def table_text(lines: Sequence[Line], judges: Sequence[str], kept: Estimates | None, of: str) -> str:
    """Return the table to be filled in, or as it was kept."""
    out = StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow((_HEADS[of], *judges))
    for line in lines:
        cells = [""] * len(judges)
        if kept is not None and line.code in kept.items:
            place = kept.items.index(line.code)
            cells = [f"{100 * row[place]:.10g}" for row in kept.share]
        writer.writerow((line.code, *cells))
    return out.getvalue()


def read_judges(text: str) -> tuple[str, ...]:
    """Return the judges named in a line, parted by commas or semicolons; `InputError` names every mistake."""
    names = tuple(filter(None, (" ".join(each.split()) for each in text.replace(";", ",").split(","))))
    problems = Problems()
    _check_judges(names, "judges", problems)
    problems.raise_any()
    return names


def read_grid(
    lines: Sequence[Line], judges: Sequence[str], typed: Mapping[str, str], *, seen_impact: bool
) -> Estimates:
    """Return the estimates typed into the cells ``e-<line>-<judge>``, both counted from 0."""
    problems = Problems()
    _check_judges(judges, "judges", problems)
    share = [
        [
            percent(typed.get(f"e-{row}-{column}", "").strip(), f"{line.code}, {judge}", problems) / 100
            for row, line in enumerate(lines)
        ]
        for column, judge in enumerate(judges)
    ]
    return _made(lines, judges, share, problems, seen_impact=seen_impact)


def read_table(text: str, stations: Sequence[Station], *, seen_impact: bool) -> Estimates:
    """Return the estimates of a pasted or uploaded table; `InputError` names every mistake with its line.

    Its head is ``station`` or ``item`` and then a judge each; its lines are stations, or items as
    ``station/item``, in any order, each once.
    """
    problems = Problems()
    rows = read_lines(text, "line", problems)
    problems.raise_any()
    if not rows:
        raise InputError.of(place="table", says="is empty", remedy="write a line for each station")
    head = rows[0][1]
    of = next((of for of, name in _HEADS.items() if head[0].casefold() in (name, of)), "")
    if not of:
        remedy = "begin with: station (or item), then a judge each"
        raise InputError.of(place="line 1", value=head[0], says="is no head", remedy=remedy)
    judges = [each for each in head[1:] if each]
    _check_judges(judges, "line 1", problems)
    lines = lines_of(stations, of)
    share = _shares(rows[1:], [each.code for each in lines], judges, _HEADS[of], problems)
    problems.raise_any()
    by_judge = [[share[each.code][column] for each in lines] for column in range(len(judges))]
    return _made(lines, judges, by_judge, problems, seen_impact=seen_impact)


def _shares(
    body: Sequence[tuple[int, list[str]]],
    codes: Sequence[str],
    judges: Sequence[str],
    noun: str,
    problems: Problems,
) -> dict[str, list[float]]:
    """Return what each judge estimates of each code, 0 to 1; problems are added."""
    share: dict[str, list[float]] = {}
    where: dict[str, str] = {}
    known = {each.casefold(): each for each in codes}
    for number, cells in body:
        line = f"line {number}"
        code = known.get(cells[0].casefold())
        if code is None:
            problems.add(line, cells[0], f"is no {noun} of this exam", suggestion(cells[0], codes))
            continue
        if code in where:
            problems.add(line, code, f"stands on {where[code]} too", "write it once")
            continue
        where[code] = line
        own, beyond = cells[1 : 1 + len(judges)], cells[1 + len(judges) :]
        if any(beyond):
            problems.add(line, code, "has more cells than judges", f"there are {len(judges)}")
        share[code] = [
            percent(cell, f"{line}, {judge}", problems) / 100
            for cell, judge in zip_longest(own, judges, fillvalue="")
        ]
    for each in codes:
        if each not in where:
            problems.add("table", each, "is not estimated", "write a line for it")
    return share


def _made(
    lines: Sequence[Line],
    judges: Sequence[str],
    share: Sequence[Sequence[float]],
    problems: Problems,
    *,
    seen_impact: bool,
) -> Estimates:
    if len(lines) < _FEWEST:
        problems.add("table", str(len(lines)), "lines are too few", "estimate at least two")
    highest = max((value for row in share for value in row), default=0.0)
    if not problems and 0 < highest <= 0.01:  # noqa: PLR2004  a hundred percent written as 1
        problems.add("table", "", "has nothing above 1 %", "write percent: 60, not 0.6")
    problems.raise_any()
    return Estimates(
        judges=tuple(judges),
        items=tuple(each.code for each in lines),
        share=tuple(map(tuple, share)),
        max_mark=tuple(each.worth for each in lines),
        seen_impact=seen_impact,
    )


def _check_judges(judges: Sequence[str], place: str, problems: Problems) -> None:
    if len(judges) < _FEWEST:
        problems.add(place, str(len(judges)), "judges are too few", "at least two have to estimate")
    for name, times in Counter(each.casefold() for each in judges).items():
        if times > 1:
            problems.add(place, name, f"stands there {times} times", "name every judge once")
    for each in judges:
        if no_formula(each) != each:
            says = "begins like a formula of a spreadsheet"
            problems.add(place, each[:20], says, "begin with a letter or number")
        if len(each) > _LONGEST:
            problems.add(place, each[:20], "is too long", f"write up to {_LONGEST} letters")
