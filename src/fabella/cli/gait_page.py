"""A measured walk in the terminal: numbers with their errors, the knees' curves, what was left out."""

from __future__ import annotations

from collections.abc import Container, Iterator
from itertools import pairwise

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from fabella.cli.drawing import heading, labelled, paragraph
from fabella.cli.tables import text_table
from fabella.figure.tables import gait
from fabella.measure.walking import Walking
from fabella.measure.walking_contacts import Foot
from fabella.report import walking_words as words

_COLUMNS, _ROWS = 51, 17
_LOW_DEG, _HIGH_DEG = -5.0, 75.0
_LETTERS = {Foot.RIGHT: "R", Foot.LEFT: "L"}
_BOTH = "X"


def page_of(walking: Walking) -> Iterator[RenderableType]:
    """Yield the page."""
    yield heading(f"The walk, {words.timed_words(walking)}")
    yield labelled(words.person_rows(walking))
    yield heading("Right and left")
    yield text_table([words.HEADER, *words.side_rows(walking)])
    yield paragraph(words.asymmetry_words(walking))
    if walking.knees is not None:
        yield heading("Knee flexion through the stride")
        yield Padding(Text("\n".join(_plot(walking)), no_wrap=True), (0, 0, 1, 2))
        for each in words.knee_words(walking):
            yield paragraph(each)
    if walking.told:
        yield heading("Left out, and why")
        yield from map(paragraph, walking.told)
    yield paragraph(words.CAUTION, style="dim")


def _plot(walking: Walking) -> Iterator[str]:
    """Yield the lines of a small drawing: R and L where the knees are, X both, dots the published mean."""
    cells = [[" "] * _COLUMNS for _ in range(_ROWS)]
    rows = gait()["knee"]
    for (at, low), (following, high) in pairwise(rows):
        for column in range(round(at / 2), round(following / 2) + 1):
            share = (2 * column - at) / (following - at)
            cells[_row(low + share * (high - low))][column] = "."
    curves = walking.knees.curves if walking.knees else {}
    for foot, curve in curves.items():
        for column in range(_COLUMNS):
            row = cells[_row(curve.mean_deg[2 * column])]
            row[column] = _LETTERS[foot] if row[column] in {" ", "."} else _BOTH
    for index, line in enumerate(cells):
        deg = _HIGH_DEG - index * (_HIGH_DEG - _LOW_DEG) / (_ROWS - 1)
        yield f"{deg:4.0f}° |{''.join(line).rstrip()}"
    yield f"      0%{'of the stride':^{_COLUMNS - 5}}100%"
    yield f"      {_key(curves)}"


def _key(curves: Container[Foot]) -> str:
    named = [f"{letter} {foot}" for foot, letter in _LETTERS.items() if foot in curves]
    both = [f"{_BOTH} both"] if len(named) == len(Foot) else []
    return "   ".join([*named, *both, ". published mean"])


def _row(deg: float) -> int:
    share = (_HIGH_DEG - deg) / (_HIGH_DEG - _LOW_DEG)
    return min(max(round(share * (_ROWS - 1)), 0), _ROWS - 1)
