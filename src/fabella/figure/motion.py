"""A drawing that moves: key positions of one sheet, whose paths can be blended number by number."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Any

from fabella.figure.pen import chain, curve, ink
from fabella.figure.sheet import TONES, Item, Sheet

_NO_STEADY = "hatch"  # has as many lines as find room, and is left out of what moves


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """A drawing in several key positions.

    Parameters
    ----------
    title
        What is looked at; it tells nothing of what is to be seen.
    words
        The movement in words, for whoever does not see it.
    keys_pct
        When each position is reached, 0 to 100 of the duration, rising.
    sheets
        The positions; all have the same items in the same order.
    duration_ms
        From the first to the last position.
    ease
        Of the whole movement, as a timing function of CSS.
    loops
        Whether the last position is the first again.
    """

    title: str
    words: str
    keys_pct: tuple[float, ...]
    sheets: tuple[Sheet, ...]
    duration_ms: float
    ease: str = "linear"
    loops: bool = False


def motion_tree(motion: Motion) -> dict[str, Any]:
    """Return a motion as plain values for JSON.

    ``parts`` are in the order of the paths of `motion_svg`; each has its ``tone``, its ``weight`` and
    ``frames``, path data with the same commands in every key position, so that numbers can be blended.
    A part that never moves has one frame.
    """
    width, height = motion.sheets[0].size
    return {
        "title": motion.title,
        "words": motion.words,
        "width": width,
        "height": height,
        "duration_ms": round(motion.duration_ms, 3),
        "ease": motion.ease,
        "loops": motion.loops,
        "keys_pct": [round(key, 3) for key in motion.keys_pct],
        "parts": [
            {"tone": item.tone, "weight": round(item.weight), "frames": frames}
            for item, frames in _parts(motion)
        ],
    }


def motion_svg(motion: Motion, *, key: int = 0, alone: bool = False) -> str:
    """Return one key position of a motion as SVG, a path for each part (``data-part`` counts them)."""
    width, height = motion.sheets[0].size
    body = "".join(
        f'<path data-part="{index}" class="f-{item.tone}"'
        + (f" {TONES[item.tone]}" if alone else "")
        + (f' stroke-width="{round(item.weight)}"' if "stroke" in TONES[item.tone] else "")
        + f' d="{frames[key if len(frames) > 1 else 0]}"/>'
        for index, (item, frames) in enumerate(_parts(motion))
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="figure" viewBox="0 0 {width} {height}" role="img" '
        f'aria-label="{escape(motion.title)}" stroke-linejoin="round" stroke-linecap="round">{body}</svg>'
    )


def _parts(motion: Motion) -> list[tuple[Item, list[str]]]:
    """Every part with its path in each position, or in one where it never moves."""
    drawn = [
        [(item, _steady(sheet, item)) for item in sheet.items if item.way != _NO_STEADY]
        for sheet in motion.sheets
    ]
    parts = []
    for same in zip(*drawn, strict=True):
        frames = [each for _, each in same]
        parts.append((same[0][0], frames[:1] if len(set(frames)) == 1 else frames))
    return parts


def _steady(sheet: Sheet, item: Item) -> str:
    points = [sheet.place(point) for point in item.points]
    if item.way == "ink":
        return ink(points, weight=item.weight, steady=True)
    if item.way in {"chain", "polygon"}:
        return chain(points, closed=item.way == "polygon")
    return curve(points, closed=item.way == "closed", steady=True)
