"""What Hofstee's judges accept, as a small table that was typed: a line a judge, in percent."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from fabella.assess import Bounds
from fabella.errors import Problems
from fabella.web.examining.table_text import read_rows
from fabella.web.forms import typed_number
from fabella.web.tables import Row

COLUMNS: Final = ("judge", "lowest pass mark", "highest pass mark", "fewest failing", "most failing")
PLACE: Final = "judges"


def bounds_text(bounds: Sequence[Bounds]) -> str:
    """Return bounds as the table in which they are typed; empty when there are none."""
    if not bounds:
        return ""
    lines = [
        f"{each.judge or f'Judge {number}'}, {each.lowest_cut:g}, {each.highest_cut:g}, "
        f"{100 * each.least_fails:g}, {100 * each.most_fails:g}"
        for number, each in enumerate(bounds, 1)
    ]
    return "\n".join((", ".join(COLUMNS), *lines)) + "\n"


def read_bounds(text: str, problems: Problems) -> tuple[Bounds, ...]:
    """Return the bounds that were typed; what is wrong is added to the problems, with its line."""
    rows = read_rows(PLACE, text, COLUMNS, problems, all_needed=True)
    return tuple(made for row in rows if (made := _bounds(row, problems)))


def _bounds(row: Row, problems: Problems) -> Bounds | None:
    before = len(problems)
    low, high, least, most = (
        percent(row.cell(each), f"{row.place}, {each}", problems) for each in COLUMNS[1:]
    )
    if len(problems) > before:
        return None
    for name, lower, upper in (("pass mark", low, high), ("failing", least, most)):
        if lower > upper:
            problems.add(
                f"{row.place}, {name}",
                f"{lower:g} to {upper:g}",
                "is the wrong way round",
                "write the smaller first",
            )
    if len(problems) > before:
        return None
    return Bounds(
        judge=row.cell("judge"),
        lowest_cut=low,
        highest_cut=high,
        least_fails=least / 100,
        most_fails=most / 100,
    )


def percent(text: str, place: str, problems: Problems) -> float:
    """Return a percentage that was typed, 0 to 100; what is none is added to the problems."""
    value = typed_number(text.replace("%", ""))
    if value is None:
        problems.add(place, text, "is no number" if text else "is missing", "write percent, 0 to 100")
        return 0.0
    if not 0 <= value <= 100:  # noqa: PLR2004  also what is no number
        problems.add(place, text, "is out of range", "write percent, 0 to 100")
        return 0.0
    return value
