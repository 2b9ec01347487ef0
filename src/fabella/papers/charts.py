"""Drawings of an exam in ink on paper: dependability over stations, and a station's scores on its grades."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

from fabella.assess import Generalizability, GradeScale, Line
from fabella.assess.marks import Numbers
from fabella.papers.words import share_words
from fabella.report.curves import Point, number
from fabella.report.document import Figure
from fabella.report.labels import SIZE_MM
from fabella.report.plate import PALETTE
from fabella.report.svg import svg_template
from fabella.report.wording import counted

WIDTH_MM, HEIGHT_MM = 150.0, 78.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 14.0, 122.0, 15.0, 66.0
_SPREAD = 0.26  # of the distance between grades, over which equal dots are laid side by side


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """A line: its path, whether it is dashed, what it is called, and where its name stands."""

    path: str
    dashed: bool
    says: str
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A drawing ready for print; ``description`` says in words all that it shows."""

    title: str
    subtitle: str
    description: str
    x_ticks: tuple[tuple[float, str], ...]
    y_ticks: tuple[tuple[float, str], ...]
    x_says: str
    curves: tuple[Curve, ...]
    dots: tuple[Point, ...]
    rule: tuple[float, str] | None
    mark: tuple[Point, str] | None


def dependability_chart(study: Generalizability, *, stations: int, target: float) -> Chart:
    """Return Phi and G over the number of stations, with the exam as it was held."""
    most = len(study.curve)
    x = _Scale(1, most, _LEFT + 2, _RIGHT)
    y = _Scale(0, 1, _BOTTOM, _TOP)
    curves = []
    for says, dashed in (("Phi, deciding", False), ("G, ranking", True)):
        values = [each.dependability.g if dashed else each.dependability.phi for each in study.curve]
        points = [(x(each.count), y(value)) for each, value in zip(study.curve, values, strict=True)]
        at = (_RIGHT + 1.5, points[-1][1] + (-0.6 if dashed else 2.2))
        curves.append(Curve(path=_path(points), dashed=dashed, says=says, at=at))
    held = study.curve[min(stations, most) - 1].dependability.phi
    needed = "; ".join(
        f"{'no number of stations' if each.phi is None else counted(each.phi, 'station')} with "
        f"{'one examiner' if each.examiners == 1 else 'two examiners'} at each"
        for each in study.needed
    )
    return Chart(
        title="How dependable the exam would be with other numbers of stations",
        subtitle=f"for Phi {target:g}: {needed}",
        description=(
            f"Two curves that rise with the number of stations, from 1 to {most}. "
            f"With {counted(stations, 'station')} Phi is {held:.2f}. For Phi {target:g}: {needed}."
        ),
        x_ticks=tuple((x(n), str(n)) for n in (1, *range(5, most + 1, 5))),
        y_ticks=tuple((y(share / 10), f"{share / 10:.1f}") for share in range(0, 11, 2)),
        x_says="stations",
        curves=tuple(curves),
        dots=(),
        rule=(y(target), f"{target:g}"),
        mark=((x(min(stations, most)), y(held)), f"{stations} stations, none missing: Phi {held:.2f}"),
    )


def grades_chart(code: str, score: Numbers, grade: Numbers, line: Line, grades: GradeScale) -> Chart:
    """Return the scores of a station on its grades with the line of the pass mark; one dot a sheet."""
    there = [(g, s) for g, s in zip(grade.tolist(), score.tolist(), strict=True) if not isnan(g + s)]
    first, last = grades.values[0], grades.values[-1]
    x = _Scale(first, last, _LEFT + 8, _RIGHT - 8)
    y = _Scale(0, 100, _BOTTOM, _TOP)
    step = (x(last) - x(first)) / (len(grades.values) - 1)
    ends = [(x(g), y(line.intercept + line.slope * g)) for g in (first, last)]
    cut = line.cut.estimate
    name = grades.names[grades.values.index(grades.borderline)]
    return Chart(
        title=f"Station {code}: scores on the global rating",
        subtitle=f"one dot a sheet; the line at “{name}” is the pass mark",
        description=(
            f"{len(there)} sheets. The line rises by {line.slope:.1f} percent a grade and explains "
            f"{share_words(line.r2)} of the variance; at {name} it stands at {cut:.1f} percent."
        ),
        x_ticks=tuple((x(g), says) for g, says in zip(grades.values, grades.names, strict=True)),
        y_ticks=tuple((y(percent), f"{percent}%") for percent in range(0, 101, 20)),
        x_says="",
        curves=(Curve(path=_path(ends), dashed=False, says="", at=ends[-1]),),
        dots=_beside([(x(g), y(s)) for g, s in sorted(there)], room=_SPREAD * step),
        rule=(y(cut), f"{cut:.1f}%"),
        mark=((x(grades.borderline), y(cut)), ""),
    )


def drawn(chart: Chart) -> str:
    """Return a chart as an SVG document."""
    return svg_template("fabella.papers", "chart").render(
        chart=chart,
        width=WIDTH_MM,
        height=HEIGHT_MM,
        field=(_LEFT, _TOP, _RIGHT, _BOTTOM),
        type_mm=SIZE_MM,
        **PALETTE,
    )


def as_figure(chart: Chart) -> Figure:
    """Return a chart as the figure of a document."""
    return Figure(svg=drawn(chart), width_mm=WIDTH_MM, height_mm=HEIGHT_MM, alt=chart.description)


class _Scale:
    """From values to millimetres of the page."""

    def __init__(self, low: float, high: float, start: float, end: float) -> None:
        self._low, self._start = low, start
        self._each = (end - start) / (high - low) if high > low else 0.0

    def __call__(self, value: float) -> float:
        return round(self._start + (value - self._low) * self._each, 2)


def _path(points: Sequence[Point]) -> str:
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)


def _beside(points: Sequence[Point], *, room: float) -> tuple[Point, ...]:
    """Lay equal dots side by side, as far as there is room, so that each is seen."""
    found: list[Point] = []
    for point in dict.fromkeys(points):
        n = points.count(point)
        apart = min(1.5, 2 * room / max(n - 1, 1))
        found += ((round(point[0] + apart * (k - (n - 1) / 2), 2), point[1]) for k in range(n))
    return tuple(found)
