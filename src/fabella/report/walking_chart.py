"""The drawing of a measured walk: both knees over the band of healthy ones, and the feet on the ground."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fabella.figure.tables import gait
from fabella.measure.walking import Walking
from fabella.measure.walking_contacts import Foot
from fabella.measure.walking_knees import POINTS, KneeCurve, healthy_boys
from fabella.report import walking_words as words
from fabella.report.curves import Point, number, sample, smooth
from fabella.report.document import Figure
from fabella.report.labels import SIZE_MM
from fabella.report.plate import PALETTE
from fabella.report.svg import svg_template

WIDTH_MM = 150.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 14.0, 116.0, 16.0, 72.0
_ROWS_MM = {Foot.RIGHT: 9.0, Foot.LEFT: 14.0}  # of the feet, below the first line
_WITH_KNEES_MM, _FEET_ALONE_MM = 102.0, 38.0
_LOW_DEG, _HIGH_DEG = -10.0, 90.0
_SECONDS = 8.0  # of the walk that are drawn; more would be a hedge
_APART_MM = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FootRow:
    """One foot on the page: its name, its row, spells on the ground as bars, contacts as ticks."""

    says: str
    y: float
    bars: tuple[tuple[float, float], ...]
    ticks: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A knee's mean curve, the ribbon of its SD, its name and where that stands; the left one is dashed."""

    path: str
    ribbon: str
    says: str
    at: Point
    dashed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkDrawing:
    """A drawing ready for print; ``description`` says in words all that it shows."""

    title: str
    subtitle: str
    description: str
    height: float
    band: str
    usual: str
    values: tuple[tuple[float, str], ...]
    percents: tuple[tuple[float, str], ...]
    lines: tuple[Line, ...]
    feet: tuple[FootRow, ...]
    seconds: tuple[tuple[float, str], ...]
    ground: float


def build_walk(walking: Walking) -> WalkDrawing:
    """Return a measured walk laid out on its page: curves where knees are known, and the feet."""
    has_knees = walking.knees is not None
    ground = _BOTTOM + 6 if has_knees else 14.0
    return WalkDrawing(
        title="Both knees through the stride" if has_knees else "Both feet on the ground",
        subtitle=f"{words.timed_words(walking)}; {_cadence(walking)}",
        description=" ".join(_described(walking)),
        height=_WITH_KNEES_MM if has_knees else _FEET_ALONE_MM,
        band=_band() if has_knees else "",
        usual=smooth([(_x(at), _y(deg)) for at, deg in gait()["knee"]]) if has_knees else "",
        values=tuple((_y(deg), f"{deg}°") for deg in range(0, 91, 15)) if has_knees else (),
        percents=tuple((_x(at), f"{at} %") for at in range(0, 101, 20)) if has_knees else (),
        lines=tuple(_lines(walking)),
        feet=tuple(_feet(walking, ground)),
        seconds=tuple(_seconds(walking)),
        ground=ground,
    )


def render_walk(drawing: WalkDrawing) -> str:
    """Return the drawing as an SVG document."""
    return svg_template("fabella.report", "walking_chart").render(
        drawing=drawing,
        width=WIDTH_MM,
        field=(_LEFT, _TOP, _RIGHT, _BOTTOM),
        type_mm=SIZE_MM,
        **PALETTE,
    )


def walk_figure(walking: Walking) -> Figure:
    """Return the drawing as a figure of a page."""
    drawing = build_walk(walking)
    return Figure(
        svg=render_walk(drawing),
        width_mm=WIDTH_MM,
        height_mm=drawing.height,
        alt=drawing.description,
    )


def _normal_band() -> tuple[tuple[float, float, float], ...]:
    """Return percent, low and high of healthy knee flexion in degrees at each 2.5 to 97.5 percent.

    The mean is that of the figure's published curve (Schwartz 2008), the spread twice the SD of 38 boys
    (Olshen 1989), as no source at hand has both for one laboratory.
    """
    at, usual = np.array(gait()["knee"]).T
    return tuple(
        (each, float(np.interp(each, at, usual)) - 2 * sd, float(np.interp(each, at, usual)) + 2 * sd)
        for each, _, sd in healthy_boys()
    )


def _x(pct: float) -> float:
    return _LEFT + (_RIGHT - _LEFT) * pct / 100


def _y(deg: float) -> float:
    shown = min(max(deg, _LOW_DEG), _HIGH_DEG)
    return round(_BOTTOM - (_BOTTOM - _TOP) * (shown - _LOW_DEG) / (_HIGH_DEG - _LOW_DEG), 2)


def _band() -> str:
    rows = _normal_band()
    rows = ((0.0, *rows[0][1:]), *rows, (100.0, *rows[-1][1:]))
    above = sample([(_x(at), _y(high)) for at, _, high in rows])
    below = sample([(_x(at), _y(low)) for at, low, _ in rows])
    return _area([*above, *reversed(below)])


def _area(points: Sequence[Point]) -> str:
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + "Z"


def _lines(walking: Walking) -> Iterator[Line]:
    if walking.knees is None:
        return
    curves = walking.knees.curves
    ends = {foot: _y(curve.mean_deg[-1]) for foot, curve in curves.items()}
    if len(ends) == len(Foot) and abs(ends[Foot.RIGHT] - ends[Foot.LEFT]) < _APART_MM:
        middle = sum(ends.values()) / 2
        upper = min(ends, key=lambda foot: ends[foot])
        ends = {foot: middle + (-1 if foot is upper else 1) * _APART_MM / 2 for foot in ends}
    for foot, curve in curves.items():
        yield Line(
            path=smooth([(_x(at), _y(deg)) for at, deg in enumerate(curve.mean_deg)]),
            ribbon=_ribbon(curve),
            says=f"{foot} knee",
            at=(_RIGHT + 1.5, round(ends[foot] + 0.85, 2)),
            dashed=foot is Foot.LEFT,
        )


def _ribbon(curve: KneeCurve) -> str:
    both = list(zip(range(POINTS), curve.mean_deg, curve.sd_deg, strict=True))
    above = [(_x(at), _y(mean + sd)) for at, mean, sd in both]
    below = [(_x(at), _y(mean - sd)) for at, mean, sd in reversed(both)]
    return _area([*above, *below])


def _start(walking: Walking) -> float:
    return min(each.at_s for each in walking.contacts)


def _feet(walking: Walking, ground: float) -> Iterator[FootRow]:
    start = _start(walking)
    for foot in Foot:
        ticks = [each.at_s - start for each in walking.contacts if each.foot is foot]
        leaves = sorted(each.at_s - start for each in walking.leavings if each.foot is foot)
        shown = [at for at in ticks if at <= _SECONDS]
        bars = []
        for at in shown:
            off = next((each for each in leaves if each > at), None)
            following = next((each for each in ticks if each > at), None)
            if off is not None and (following is None or off < following):
                bars.append((_t(at), round(_t(min(off, _SECONDS)) - _t(at), 2)))
        yield FootRow(
            says=f"{foot} foot", y=ground + _ROWS_MM[foot], bars=tuple(bars), ticks=tuple(map(_t, shown))
        )


def _t(seconds: float) -> float:
    return round(_LEFT + (_RIGHT - _LEFT) * seconds / _SECONDS, 2)


def _seconds(walking: Walking) -> Iterator[tuple[float, str]]:
    last = max(each.at_s for each in walking.contacts) - _start(walking)
    for each in range(int(min(last, _SECONDS)) + 1):
        yield _t(each), f"{each} s"


def _cadence(walking: Walking) -> str:
    return words.with_error(walking.pace.cadence_per_min, "steps a minute", digits=1)


def _described(walking: Walking) -> Iterator[str]:
    yield f"{_cadence(walking)}."
    yield words.asymmetry_words(walking)
    for name, right, left, _ in words.side_rows(walking):
        told = [f"{side} {value}" for side, value in (("right", right), ("left", left)) if value]
        yield f"{name}: {', '.join(told)}."
    yield from words.knee_words(walking)
