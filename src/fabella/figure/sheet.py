"""A sheet of drawing: shapes, strokes, hatching and words in thousandths of stature, written as one SVG text.

Colours are classes, so that a page sets them for light, dark and print; a drawing that stands alone carries
its own. One unit of the view box is a tenth of a screen pixel.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from itertools import groupby

from fabella.figure.pen import Point, chain, curve, hatch, ink

PAPER = "#f6f0e2"
TONES = {
    "skin": 'fill="#efe4cf" stroke="#2b2622"',
    "far": 'fill="#ece3cf" stroke="#857868"',
    "bone": 'fill="#fbf7ec" stroke="#857868"',
    "hand": 'fill="#fbf7ec" stroke="#2b2622"',
    "cloth": 'fill="#cfc3aa" stroke="#2b2622"',
    "couch": 'fill="#ece3cf" stroke="#857868"',
    "ink": 'fill="#2b2622"',
    "line": 'fill="none" stroke="#2b2622"',
    "soft": 'fill="none" stroke="#857868"',
    "ghost": 'fill="none" stroke="#857868" stroke-dasharray="30 26"',
    "accent": 'fill="none" stroke="#8c3a2b"',
    "spot": 'fill="#8c3a2b"',
}
"""What each class looks like in a drawing that stands alone."""


TYPE = 125
"""Usual size of the type in the view box: 12 to 13 pixels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing to draw: its points in thousandths of stature, its tone, and how the pen moves.

    ``way`` is ``curve``, ``closed``, ``chain``, ``polygon``, ``ink`` or ``hatch``; ``weight`` the width of
    the line in tenths of a pixel; ``depth`` and ``spacing`` belong to hatching, in thousandths of stature.
    """

    tone: str
    points: tuple[Point, ...]
    way: str = "curve"
    weight: float = 15.0
    depth: float = 0.0
    spacing: float = 7.0
    slant_deg: float = 38.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A label: its words, the middle of its line in thousandths of stature, and its anchor."""

    text: str
    at: Point
    anchor: str = "middle"


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The part of the world that is shown: its left upper corner, and its size in thousandths of stature."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A drawing with its title: ``scale`` is tenths of a pixel a thousandth of stature."""

    title: str
    window: Window
    scale: float
    items: tuple[Item, ...]
    words: tuple[Words, ...] = field(default=())
    type_size: int = TYPE

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the view box."""
        return round(self.window.width * self.scale), round(self.window.height * self.scale)

    def place(self, point: Point) -> Point:
        """Return where a point of the world stands in the view box."""
        return (
            (point[0] - self.window.left) * self.scale,
            (point[1] - self.window.top) * self.scale,
        )


def write(sheet: Sheet, *, alone: bool = False) -> str:
    """Return a sheet as an SVG text.

    Parameters
    ----------
    sheet
        What is drawn.
    alone
        Whether it carries its own colours, for where no page gives it any.
    """
    width, height = sheet.size
    body = "".join(
        _run(sheet, tone, weight, tuple(run), alone=alone)
        for (tone, weight), run in groupby(sheet.items, key=lambda item: (item.tone, round(item.weight)))
    )
    words = "".join(
        f'<text x="{round(x)}" y="{round(y + 0.34 * sheet.type_size)}" text-anchor="{each.anchor}">'
        f"{escape(each.text)}</text>"
        for each in sheet.words
        for x, y in (sheet.place(each.at),)
    )
    if words:
        own = ' fill="#2b2622" font-family="Georgia,serif"' if alone else ""
        words = f'<g class="f-words"{own} font-size="{sheet.type_size}">{words}</g>'
    own = f' width="{width // 5}" height="{height // 5}"' if alone else ""
    ground = f'<rect width="{width}" height="{height}" fill="{PAPER}"/>' if alone else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="figure" viewBox="0 0 {width} {height}"{own} '
        f'role="img" aria-label="{escape(sheet.title)}" stroke-linejoin="round" stroke-linecap="round">'
        f"{ground}{body}{words}</svg>"
    )


def _run(sheet: Sheet, tone: str, weight: int, run: Sequence[Item], *, alone: bool) -> str:
    """Neighbours of one tone: one path where they cannot hide each other, else one each in a group."""
    look = (f" {TONES[tone]}" if alone else "") + (
        f' stroke-width="{weight}"' if "stroke" in TONES[tone] else ""
    )
    paths = [path(sheet, item) for item in run]
    if 'fill="none"' in TONES[tone] or tone in {"ink", "spot"} or len(paths) == 1:
        return f'<path class="f-{tone}"{look} d="{"".join(paths)}"/>'
    inner = "".join(f'<path d="{each}"/>' for each in paths)
    return f'<g class="f-{tone}"{look}>{inner}</g>'


def path(sheet: Sheet, item: Item) -> str:
    """Return the path data of one item."""
    points = [sheet.place(point) for point in item.points]
    match item.way:
        case "ink":
            return ink(points, weight=item.weight)
        case "hatch":
            return hatch(
                points,
                depth=item.depth * sheet.scale,
                spacing=item.spacing * sheet.scale,
                slant_deg=item.slant_deg,
            )
        case "chain" | "polygon":
            return chain(points, closed=item.way == "polygon")
        case _:
            return curve(points, closed=item.way == "closed")


def extent(points: Iterable[Point]) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom of points."""
    across, down = zip(*points, strict=True)
    return min(across), min(down), max(across), max(down)
