"""How a page is drawn in the terminal: headings, hanging paragraphs, bars; readable without colour."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Strokes:
    """The characters of a bar: the scale, the interval with its ends, and the estimate."""

    scale: str
    low: str
    between: str
    estimate: str
    high: str


LINES = Strokes(scale="·", low="├", between="─", estimate="●", high="┤")
ASCII = Strokes(scale=".", low="[", between="-", estimate="#", high="]")

_NARROW = 66  # characters, below which a bar gives up half its cells
_INDENT = 2
_LEAST_RULE = 3  # characters behind a heading: a blank and a line that still is one
_END = re.compile(r"(?: |\x1b\[[0-9;]*m)+$")  # blanks at the end of a line, and what ends bold type


def open_console(*, stderr: bool = False) -> Console:
    """Return the terminal as it is drawn on: no mark-up, no colouring of numbers."""
    return Console(stderr=stderr, highlight=False, markup=False, emoji=False)


def strokes_for(console: Console) -> Strokes:
    """Return the characters that a terminal can show."""
    return ASCII if console.options.ascii_only else LINES


def cells_for(console: Console) -> int:
    """Return how long a bar may be."""
    return 20 if console.width >= _NARROW else 10


def bar(probability: float, low: float, high: float, *, cells: int, strokes: Strokes = LINES) -> str:
    """Draw an estimate and its interval on a scale from 0 to 1.

    Parameters
    ----------
    probability, low, high
        The estimate and the ends of its interval, 0..1, low <= probability <= high.
    cells
        Width of the drawing in characters, at least 1; one cell stands for 1/cells of the scale.
    strokes
        What to draw it with.
    """
    first, at, last = (min(int(each * cells), cells - 1) for each in (low, probability, high))
    drawn = [strokes.scale] * cells
    drawn[first : last + 1] = strokes.between * (last + 1 - first)
    drawn[first], drawn[last] = strokes.low, strokes.high
    drawn[at] = strokes.estimate
    return "".join(drawn)


def scale(cells: int) -> str:
    """Write 0 and 100% above the ends of a bar of so many cells (at least 6)."""
    return f"0{'100%':>{cells - 1}}"


def show(console: Console, parts: Iterable[RenderableType]) -> None:
    """Print the parts of a page, without the blanks that would fill every line up to the margin."""
    for part in parts:
        with console.capture() as drawn:
            console.print(part)
        print(*(_END.sub(_without_blanks, line) for line in drawn.get().splitlines()), sep="\n")


def _without_blanks(end: re.Match[str]) -> str:
    return end.group().replace(" ", "")


def heading(text: str) -> RenderableType:
    """Return the heading of a part of the page, with a line to the margin; a long one wraps."""
    return _Heading(text=text)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Heading:
    """A heading drawn as wide as there is room; the line stands behind the last of its own."""

    text: str

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        lines = Text(self.text, style="bold").wrap(console, max(options.max_width - _LEAST_RULE, 1))
        for line in lines:
            line.rstrip()
        yield from lines[:-1]
        yield Rule(lines[-1], align="left", style="dim")


def paragraph(text: str, *, indent: int = _INDENT, style: str = "", mark: str = "") -> RenderableType:
    """Return a paragraph that wraps under its own first word, with a mark before it."""
    if mark:
        return labelled(((mark, text),), indent=indent, style=style, gap=1)
    return Padding(Text(text, style=style), (0, 0, 0, indent))


def listing(title: str, lines: Sequence[str]) -> Iterator[RenderableType]:
    """Yield a blank, a heading and a list under it; nothing without lines."""
    if lines:
        yield ""
        yield heading(title)
        yield from (paragraph(each, mark="-") for each in lines)


def labelled(
    rows: Iterable[tuple[str, str]], *, indent: int = _INDENT, style: str = "", gap: int = 2
) -> RenderableType:
    """Return rows of a label and a text that wraps beside it; rows without text are left out."""
    table = Table.grid(padding=(0, gap, 0, 0))
    table.add_column(no_wrap=True, style=style or "dim")
    table.add_column(overflow="fold", style=style)
    for label, text in rows:
        if text:
            table.add_row(Text(label), Text(text))
    return Padding(table, (0, 0, 0, indent))
