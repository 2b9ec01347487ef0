"""The chart of a course: an ink line on paper, the error as a hatched ribbon, letters for the published."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from string import ascii_lowercase

from fabella.anatomy import Lesions
from fabella.follow import Chart
from fabella.protocol import Protocol
from fabella.report import chart_words as words
from fabella.report.chart_field import BOTTOM, LEFT, RIGHT, TOP, Field, path
from fabella.report.curves import Point, number
from fabella.report.labels import LINE_MM, SIZE_MM, width_mm, wrap
from fabella.report.plate import PALETTE
from fabella.report.recovery_words import PROCEDURES
from fabella.report.svg import svg_template

WIDTH_MM, HEIGHT_MM = 150.0, 72.0
_KEY_MM, _KEY_ROOM_MM = 111.0, 34.0  # where the key begins, and how wide its words may run
_ROWS_MM = (4.0, 7.0)  # of the days, below the field
_HATCH_MM = 1.5
_ABOVE_MM, _BELOW_MM, _RING_MM = 2.2, 3.8, 0.6  # from a point to the baseline of its value, more with a ring
_CLEAR_MM = 3.2  # of a value from other marks
_APART_MM = 1.5  # between days in one row
_ENLARGED = 1.4  # by how much a phone enlarges the type: days keep apart there too


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """A reading on the page; ``ringed`` when it has truly changed since the first; value at ``says_y``."""

    at: Point
    ringed: bool
    says: str
    says_y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyEntry:
    """An entry of the key: its symbol (a letter is printed as such), its lines, and the y of the first."""

    symbol: str
    lines: tuple[str, ...]
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettered:
    """One published series on the page: its letter, the path of its line and the places of its points."""

    letter: str
    kind: str
    path: str
    places: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A chart ready for print; ``description`` says in words all that it shows.

    At the axis ``ticks`` are visits, ``shared`` joins those of one day, ``days`` are dates with their place.
    """

    title: str
    subtitle: str
    description: str
    line: str
    dots: tuple[Dot, ...]
    other: str
    other_places: tuple[Point, ...]
    band: str
    hatch: str
    expected: tuple[Lettered, ...]
    operations: tuple[tuple[float, str], ...]
    values: tuple[tuple[float, str], ...]
    ticks: tuple[float, ...]
    shared: tuple[tuple[float, float], ...]
    days: tuple[tuple[float, float, str], ...]
    key: tuple[KeyEntry, ...]


def build_chart(chart: Chart, *, protocol: Protocol, lesions: Lesions) -> Drawing:
    """Return a chart laid out on its page."""
    place = Field(chart)
    expected = tuple(_expected(chart, place))
    band = place.area(chart.band)
    visits = dict.fromkeys(mark.day for mark in chart.points)
    return Drawing(
        title=words.title(chart, protocol=protocol, lesions=lesions),
        subtitle=words.unit_words(chart),
        description=words.description(chart, protocol=protocol, lesions=lesions),
        line=path([place.at_visit(mark) for mark in chart.points]),
        dots=tuple(_dots(chart, place)),
        other=path([place.at_visit(mark) for mark in chart.other]),
        other_places=tuple(place.at_visit(mark) for mark in chart.other),
        band=band,
        hatch=_hatch() if band else "",
        expected=expected,
        operations=tuple((place.x(day), PROCEDURES[name]) for day, name in chart.operations),
        values=tuple((place.y(each), words.tick_words(chart, each)) for each in chart.ticks),
        ticks=tuple(x for day in visits for x in place.xs(day)),
        shared=tuple((place.xs(day)[0], place.xs(day)[-1]) for day in visits if day in place.shared_days),
        days=tuple(_days(chart, place)),
        key=tuple(_key(chart, place)),
    )


def render_chart(drawing: Drawing, *, ident: str = "chart") -> str:
    """Return the chart as an SVG document; ``ident`` begins its ids, so that several may share a page."""
    return svg_template("fabella.report", "course_chart").render(
        drawing=drawing,
        ident=ident,
        width=WIDTH_MM,
        height=HEIGHT_MM,
        field=(LEFT, TOP, RIGHT, BOTTOM),
        key_mm=_KEY_MM,
        line_mm=LINE_MM,
        type_mm=SIZE_MM,
        **PALETTE,
    )


def _hatch() -> str:
    """Lines that rise to the right across the whole field, to be cut to the band."""
    height = BOTTOM - TOP
    starts = (LEFT - height + _HATCH_MM * step for step in range(int((RIGHT - LEFT + height) / _HATCH_MM)))
    return "".join(f"M{number(x)} {number(BOTTOM)}l{number(height)} -{number(height)}" for x in starts)


def _dots(chart: Chart, place: Field) -> Iterator[Dot]:
    others = [place.at_visit(mark) for mark in chart.other]
    others += [place.on_day(mark) for each in chart.expected for mark in each.marks]
    own = [place.at_visit(mark) for mark in chart.points]
    values = [mark.value for mark in chart.points]
    written: list[Point] = []
    for index, mark in enumerate(chart.points):
        x, y = own[index]
        in_the_way = [*others, *own[:index], *own[index + 1 :], *written]
        ringed = words.changed(chart, mark)
        wider = _RING_MM if ringed else 0.0
        above, below = y - _ABOVE_MM - wider, y + _BELOW_MM + wider
        beside = values[max(index - 1, 0) : index] + values[index + 1 : index + 2]
        peak = mark.value >= sum(beside) / len(beside) if beside else True
        choices = [(above, _room((x, above), in_the_way)), (below, _room((x, below), in_the_way))]
        if below > BOTTOM - 0.5:
            choices = choices[:1]
        elif not peak:
            choices.reverse()
        best = next((each for each, free in choices if free), choices[0][0])
        written.append((x, best - SIZE_MM / 3))
        yield Dot(at=(x, y), ringed=ringed, says=words.dot_words(chart, mark.value), says_y=round(best, 2))


def _room(at: Point, in_the_way: Sequence[Point]) -> bool:
    """Say whether a value printed with its baseline here covers nothing."""
    middle = at[1] - SIZE_MM / 3
    return all(abs(x - at[0]) > _CLEAR_MM or abs(y - middle) > _CLEAR_MM * 0.6 for x, y in in_the_way)


def _expected(chart: Chart, place: Field) -> Iterator[Lettered]:
    for letter, each in zip(ascii_lowercase, chart.expected, strict=False):
        yield Lettered(
            letter=letter,
            kind=str(each.expectation),
            path=path([place.on_day(mark) for mark in each.line]),
            places=tuple(place.on_day(mark) for mark in each.marks),
        )


def _days(chart: Chart, place: Field) -> Iterator[tuple[float, float, str]]:
    """Yield place, row and words of each day that finds room in a row; the others have their ticks only."""
    ends = [0.0 for _ in _ROWS_MM]
    for day in dict.fromkeys(mark.day for mark in chart.points):
        says, x = words.day_words(chart, day), place.x(day)
        half = _ENLARGED * width_mm(says) / 2
        row = next((index for index, end in enumerate(ends) if x - half >= end), None)
        if row is not None:
            ends[row] = x + half + _APART_MM
            yield x, BOTTOM + _ROWS_MM[row], says


def _key(chart: Chart, place: Field) -> Iterator[KeyEntry]:
    entries = [("own", words.own_words(chart))]
    if any(words.changed(chart, mark) for mark in chart.points):
        entries.append(("ringed", "truly changed since the first"))
    if other := words.other_words(chart):
        entries.append(("other", other))
    if band := words.band_words(chart):
        entries.append(("band", band))
    if place.shared_days:
        entries.append(("shared", "visits of one day"))
    entries += zip(ascii_lowercase, map(words.expected_words, chart.expected), strict=False)
    y = TOP + 1.0
    for symbol, says in entries:
        lines = wrap(says, room_mm=_KEY_ROOM_MM)
        yield KeyEntry(symbol=symbol, lines=lines, y=round(y, 2))
        y += LINE_MM * len(lines) + 1.6
