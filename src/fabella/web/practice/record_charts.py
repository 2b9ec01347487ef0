"""A student's record as drawn lines: how sure against how right, and one run after the other."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from fabella.stats import Bin
from fabella.teach.learned import Point
from fabella.teach.recognition import ENOUGH

SIDE = 240.0
"""Of the square of the calibration, in its own units; right and up are more."""
WIDTH, HEIGHT = 300.0, 80.0
"""Of the field of a panel."""
MOST_RUNS = 30
"""Runs that a panel shows, the latest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One bin on the square: its place, its interval from ``low_y`` to ``high_y``, and whether it has few."""

    x: str
    y: str
    low_y: str
    high_y: str
    few: bool
    n: int
    label_x: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """One quantity over the runs: a path through its points, the ends of its scale, and the same in words."""

    name: str
    path: str
    dots: tuple[tuple[str, str], ...]
    top: str
    last: str
    text: str


def marks_of(bins: Sequence[Bin]) -> tuple[Mark, ...]:
    """Return where each bin of a calibration stands on its square."""
    return tuple(
        Mark(
            x=_of(each.said, SIDE),
            y=_of(1 - each.came_true.estimate, SIDE),
            low_y=_of(1 - each.came_true.low, SIDE),
            high_y=_of(1 - each.came_true.high, SIDE),
            few=each.n < ENOUGH,
            n=each.n,
            label_x=_of(each.said, SIDE, 8.0),
        )
        for each in bins
    )


def tracks_of(points: Sequence[Point]) -> tuple[Track, ...]:
    """Return time and order over the latest runs, once there are two."""
    shown = points[-MOST_RUNS:]
    if not shown[1:]:
        return ()
    longest = max(1.0, *(each.minutes for each in shown))
    tracks = [
        _track("Minutes", shown, lambda each: each.minutes, longest, lambda value: f"{value:.1f} min"),
    ]
    for place, name in enumerate(("On both knees", "Sound knee first", "Look, feel, then move")):
        tracks.append(_track(name, shown, _share(place), 1.0, lambda value: f"{value:.0%}"))
    return tuple(track for track in tracks if track.dots)


def _share(place: int) -> Callable[[Point], float | None]:
    return lambda each: each.order[place]


def _track(
    name: str,
    points: Sequence[Point],
    value: Callable[[Point], float | None],
    top: float,
    said: Callable[[float], str],
) -> Track:
    values = [value(each) for each in points]
    known = [each for each in values if each is not None]
    dots = tuple(_dots(values, top))
    return Track(
        name=name,
        path="M" + "L".join(f"{x} {y}" for x, y in dots) if dots else "",
        dots=dots,
        top=said(top),
        last=said(known[-1]) if known else "",
        text=f"{name}: from {said(known[0])} to {said(known[-1])} over {len(values)} runs." if known else "",
    )


def _dots(values: Sequence[float | None], top: float) -> Iterator[tuple[str, str]]:
    for number, value in enumerate(values):
        if value is not None:
            yield _of(number / (len(values) - 1), WIDTH), _of(1 - value / top, HEIGHT)


def _of(share: float, length: float, more: float = 0.0) -> str:
    return f"{share * length + more:.1f}"
