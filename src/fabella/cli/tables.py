"""Tables of the terminal: no lines, numbers to the right, words to the left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

_NAME = 6  # characters that a column which may wrap keeps at least
_ANY_WIDTH = 1000  # characters, more than any table needs


def plain_table(*titles: str, wrapped: Sequence[str] = ()) -> Table:
    """Return an empty table with a header; the first column and those named are to the left."""
    table = Table(box=None, header_style="dim", padding=(0, 2, 0, 0))
    for number, title in enumerate(titles):
        left = number == 0 or title in wrapped
        least = _NAME if left and wrapped else None
        table.add_column(
            title, no_wrap=title not in wrapped, justify="left" if left else "right", min_width=least
        )
    return table


def under(table: Table) -> RenderableType:
    """Set a table in under its heading."""
    return Padding(table, (0, 0, 1, 2))


def text_table(rows: Sequence[Sequence[str]], *, wrapped: Sequence[str] = ()) -> RenderableType:
    """Return rows of text under a header row; the columns named are to the left and may wrap."""
    table = plain_table(*rows[0], wrapped=wrapped)
    for row in rows[1:]:
        table.add_row(*map(Text, row))
    return under(table)


def fitted_table(
    columns: Mapping[str, Sequence[str]], *, spared: Sequence[str], console: Console
) -> RenderableType:
    """Return columns by their titles, as many as there is room for.

    Those of ``spared`` that are there are left out, the first one first, until no number is cut off.
    """
    left = dict(columns)
    for name in ("", *spared):
        left.pop(name, None)
        table = plain_table(*left)
        for row in zip(*left.values(), strict=True):
            table.add_row(*map(Text, row))
        found = under(table)
        if console.measure(found, options=console.options.update(width=_ANY_WIDTH)).maximum <= console.width:
            break
    return found
