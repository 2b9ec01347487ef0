"""Labels beside a drawing: wrapped, set in a column without touching each other, and led to their marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.report.curves import Point

SIZE_MM = 2.5
"""Height of the label type (7 point)."""

LINE_MM = 2.75
_GAP_MM = 0.9  # between neighbouring labels
_NARROW, _WIDE = frozenset("fijlrt.,;:'()[]°-–/1 \u00a0I"), frozenset("mwMWQOGDHNUA%+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A label that asks for a place: its text, what to say if it finds none, and its point."""

    text: str
    spoken: str
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A label in its place: lines of text, baseline of the first, and the leader to its mark."""

    lines: tuple[str, ...]
    x_mm: float
    y_mm: float
    anchor: str
    leader: tuple[Point, ...]

    @property
    def baselines(self) -> tuple[tuple[float, str], ...]:
        """Each line with its baseline, as the template asks."""
        return tuple((self.y_mm + LINE_MM * index, line) for index, line in enumerate(self.lines))


def width_mm(text: str) -> float:
    """Estimate how wide a text runs in the label type: a little too wide rather than too narrow."""
    ems = sum(0.30 if char in _NARROW else 0.78 if char in _WIDE else 0.51 for char in text)
    return ems * SIZE_MM


def wrap(text: str, *, room_mm: float) -> tuple[str, ...]:
    """Break a text into lines no wider than the room, at plain spaces only."""
    lines: list[str] = []
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_mm(longer) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


def place_labels(
    wanted: Sequence[Wanted], *, edge_mm: float, page_mm: float, top_mm: float, bottom_mm: float
) -> tuple[tuple[Label, ...], tuple[Wanted, ...]]:
    """Set labels in a column, in the order of their marks from above down.

    Parameters
    ----------
    wanted
        The labels and their points, in page millimetres.
    edge_mm, page_mm
        Where the column begins beside the limb, and where it ends at the margin.
    top_mm, bottom_mm
        Upper and lower end of the column.

    Returns
    -------
    The placed labels, and those for which no room was left.
    """
    room = abs(page_mm - edge_mm)
    ordered = sorted(wanted, key=lambda each: each.at[1])
    blocks = [wrap(each.text, room_mm=room) for each in ordered]
    left_over: list[Wanted] = []
    while blocks and sum(len(block) * LINE_MM + _GAP_MM for block in blocks) - _GAP_MM > bottom_mm - top_mm:
        left_over.insert(0, ordered.pop())
        blocks.pop()
    tops = _spread(
        [each.at[1] - len(block) * LINE_MM / 2 for each, block in zip(ordered, blocks, strict=True)],
        [len(block) * LINE_MM + _GAP_MM for block in blocks],
        top_mm=top_mm,
        bottom_mm=bottom_mm + _GAP_MM,
    )
    on_the_left = page_mm < edge_mm
    labels = []
    for each, block, top in zip(ordered, blocks, tops, strict=True):
        middle = top + len(block) * LINE_MM / 2
        out = 0.6 if on_the_left else -0.6
        over = max(
            0.0, *(width_mm(line) - room for line in block)
        )  # a long word rather over the limb than cut
        x = edge_mm + (over if on_the_left else -over)
        labels.append(
            Label(
                lines=block,
                x_mm=x,
                y_mm=top + LINE_MM * 0.76,
                anchor="end" if on_the_left else "start",
                leader=((x + out, middle), (x + 3 * out, middle), each.at),
            )
        )
    return tuple(labels), tuple(left_over)


def _spread(
    wishes: Sequence[float], heights: Sequence[float], *, top_mm: float, bottom_mm: float
) -> tuple[float, ...]:
    """Tops of blocks near their wishes: pushed down where they overlap, then up from the bottom."""
    tops: list[float] = []
    for wish, _ in zip(wishes, heights, strict=True):
        floor = tops[-1] + heights[len(tops) - 1] if tops else top_mm
        tops.append(max(wish, floor))
    ceiling = bottom_mm
    for index in range(len(tops) - 1, -1, -1):
        tops[index] = min(tops[index], ceiling - heights[index])
        ceiling = tops[index]
    return tuple(tops)
