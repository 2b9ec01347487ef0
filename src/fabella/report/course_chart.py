"""The chart of a course: an ink line on paper, the error as a hatched ribbon, letters for the published."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from string import ascii_lowercase

from fabella.anatomy import Lesions
from fabella.follow import Chart, Mark
from fabella.protocol import Protocol
from fabella.report import chart_words as words
from fabella.report.curves import Point, number
from fabella.report.labels import LINE_MM, SIZE_MM, width_mm, wrap
from fabella.report.plate import PALETTE
from fabella.report.recovery_words import PROCEDURES
from fabella.report.svg import svg_template

WIDTH_MM, HEIGHT_MM = 150.0, 72.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 15.0, 102.0, 20.0, 59.0  # the field, page millimetres
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
    """A chart ready for print; ``description`` says in words all that it shows."""

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
    days: tuple[tuple[float, float, str], ...]
    key: tuple[KeyEntry, ...]


def build_chart(chart: Chart, *, protocol: Protocol, lesions: Lesions) -> Drawing:
    """Return a chart laid out on its page."""
    place = _Field(chart)
    expected = tuple(_expected(chart, place))
    band = place.area([(b.day, b.low) for b in chart.band], [(b.day, b.high) for b in chart.band])
    return Drawing(
        title=words.title(chart, protocol=protocol, lesions=lesions),
        subtitle=words.unit_words(chart),
        description=words.description(chart, protocol=protocol, lesions=lesions),
        line=place.path(chart.points),
        dots=tuple(_dots(chart, place)),
        other=place.path(chart.other),
        other_places=tuple(place.of(mark) for mark in chart.other),
        band=band,
        hatch=_hatch() if band else "",
        expected=expected,
        operations=tuple((place.x(day), PROCEDURES[name]) for day, name in chart.operations),
        values=tuple((place.y(each), words.tick_words(chart, each)) for each in chart.ticks),
        days=tuple(_days(chart, place)),
        key=tuple(_key(chart)),
    )


def render_chart(drawing: Drawing, *, ident: str = "chart") -> str:
    """Return the chart as an SVG document; ``ident`` begins its ids, so that several may share a page."""
    return svg_template("fabella.report", "course_chart").render(
        drawing=drawing,
        ident=ident,
        width=WIDTH_MM,
        height=HEIGHT_MM,
        field=(_LEFT, _TOP, _RIGHT, _BOTTOM),
        key_mm=_KEY_MM,
        line_mm=LINE_MM,
        type_mm=SIZE_MM,
        **PALETTE,
    )


class _Field:
    """Where days and values lie on the page."""

    def __init__(self, chart: Chart) -> None:
        self._chart = chart

    def x(self, day: float) -> float:
        return _LEFT + 3 + (_RIGHT - _LEFT - 6) * day / max(self._chart.days, 1)

    def y(self, value: float) -> float:
        low, high = self._chart.low, self._chart.high
        return _BOTTOM - (_BOTTOM - _TOP) * (value - low) / (high - low)

    def of(self, mark: Mark) -> Point:
        return round(self.x(mark.day), 2), round(self.y(mark.value), 2)

    def path(self, marks: Sequence[Mark]) -> str:
        points = [self.of(mark) for mark in marks]
        return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) if len(points) > 1 else ""

    def area(self, low: Sequence[tuple[int, float]], high: Sequence[tuple[int, float]]) -> str:
        if not low:
            return ""
        round_trip = [Mark(day=day, value=value) for day, value in (*low, *reversed(high))]
        return f"{self.path(round_trip)}Z"


def _hatch() -> str:
    """Lines that rise to the right across the whole field, to be cut to the band."""
    height = _BOTTOM - _TOP
    starts = (_LEFT - height + _HATCH_MM * step for step in range(int((_RIGHT - _LEFT + height) / _HATCH_MM)))
    return "".join(f"M{number(x)} {number(_BOTTOM)}l{number(height)} -{number(height)}" for x in starts)


def _dots(chart: Chart, place: _Field) -> Iterator[Dot]:
    in_the_way = [place.of(mark) for mark in chart.other]
    in_the_way += [place.of(mark) for each in chart.expected for mark in each.marks]
    values = [mark.value for mark in chart.points]
    for index, mark in enumerate(chart.points):
        x, y = place.of(mark)
        ringed = words.changed(chart, mark)
        wider = _RING_MM if ringed else 0.0
        above, below = y - _ABOVE_MM - wider, y + _BELOW_MM + wider
        beside = values[max(index - 1, 0) : index] + values[index + 1 : index + 2]
        peak = mark.value >= sum(beside) / len(beside) if beside else True
        choices = [(above, _room((x, above), in_the_way)), (below, _room((x, below), in_the_way))]
        if below > _BOTTOM - 0.5:
            choices = choices[:1]
        elif not peak:
            choices.reverse()
        best = next((each for each, free in choices if free), choices[0][0])
        yield Dot(at=(x, y), ringed=ringed, says=words.dot_words(chart, mark.value), says_y=round(best, 2))


def _room(at: Point, in_the_way: Sequence[Point]) -> bool:
    """Say whether a value printed with its baseline here covers nothing."""
    middle = at[1] - SIZE_MM / 3
    return all(abs(x - at[0]) > _CLEAR_MM or abs(y - middle) > _CLEAR_MM * 0.6 for x, y in in_the_way)


def _expected(chart: Chart, place: _Field) -> Iterator[Lettered]:
    for letter, each in zip(ascii_lowercase, chart.expected, strict=False):
        yield Lettered(
            letter=letter,
            kind=str(each.expectation),
            path=place.path(each.line),
            places=tuple(place.of(mark) for mark in each.marks),
        )


def _days(chart: Chart, place: _Field) -> Iterator[tuple[float, float, str]]:
    """Yield tick, row and words of each day; a day that finds room in neither row keeps its tick only."""
    ends = [0.0 for _ in _ROWS_MM]
    for day in dict.fromkeys(mark.day for mark in chart.points):
        says, x = words.day_words(chart, day), place.x(day)
        half = _ENLARGED * width_mm(says) / 2
        row = next((index for index, end in enumerate(ends) if x - half >= end), None)
        if row is None:
            yield x, 0.0, ""
            continue
        ends[row] = x + half + _APART_MM
        yield x, _BOTTOM + _ROWS_MM[row], says


def _key(chart: Chart) -> Iterator[KeyEntry]:
    entries = [("own", words.own_words(chart))]
    if any(words.changed(chart, mark) for mark in chart.points):
        entries.append(("ringed", "truly changed since the first"))
    if other := words.other_words(chart):
        entries.append(("other", other))
    if band := words.band_words(chart):
        entries.append(("band", band))
    entries += zip(ascii_lowercase, map(words.expected_words, chart.expected), strict=False)
    y = _TOP + 1.0
    for symbol, says in entries:
        lines = wrap(says, room_mm=_KEY_ROOM_MM)
        yield KeyEntry(symbol=symbol, lines=lines, y=round(y, 2))
        y += LINE_MM * len(lines) + 1.6
