"""The course of a patient as a page shows it: charts in pairs, the same numbers as a table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fabella.anatomy import Lesions, Side
from fabella.evidence import Edition
from fabella.follow import LESION_FROM, ChangeVerdict, Chart, Course, Kind, charts_of
from fabella.protocol import Protocol
from fabella.record import SCORES
from fabella.report.change_words import grades_of, subject
from fabella.report.course_chart import build_chart, render_chart
from fabella.report.course_words import likelihood_told
from fabella.report.wording import figure, sentence, short_date, signed

_VERDICTS = {
    ChangeVerdict.TRUE_CHANGE_BETTER: "truly better",
    ChangeVerdict.TRUE_CHANGE_WORSE: "truly worse",
    ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR: "within error",
    ChangeVerdict.CANNOT_JUDGE: "cannot be judged",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One chart, and its key in words for where the drawing is too narrow to carry it."""

    title: str
    side: Side | None
    svg: str
    key: tuple[tuple[str, str], ...]
    norm: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Charts of one kind; each row holds those of one subject, the right knee before the left."""

    id: str
    title: str
    rows: tuple[tuple[Drawn, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One series as a row of numbers, one for each visit, empty where nothing was recorded."""

    name: str
    cells: tuple[str, ...]
    verdict: str
    changed: bool
    norm: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers:
    """Everything that was followed, as a table: a column for each visit, headed by its day."""

    visits: tuple[str, ...]
    groups: tuple[tuple[str, tuple[Line, ...]], ...]


_TITLES = {
    Kind.MEASURE: "Range, girth and other measurements",
    Kind.TOTAL: "Totals of questionnaires",
    Kind.LESION: "How likely each lesion was",
}


def chart_groups(
    course: Course, *, edition: Edition, protocol: Protocol, lesions: Lesions, norms: Mapping[str, str]
) -> tuple[Group, ...]:
    """Return every chart of a course, by kind and subject."""
    rows: dict[Kind, dict[str, list[Drawn]]] = {kind: {} for kind in Kind}
    for number, chart in enumerate(charts_of(course, edition=edition)):
        drawn = _drawn(chart, number, protocol=protocol, lesions=lesions, norms=norms)
        rows[chart.kind].setdefault(chart.subject, []).append(drawn)
    return tuple(
        Group(id=kind.value, title=_TITLES[kind], rows=tuple(map(_in_order, of_kind.values())))
        for kind, of_kind in rows.items()
        if of_kind
    )


def _in_order(row: Sequence[Drawn]) -> tuple[Drawn, ...]:
    order = [*Side, None]
    return tuple(sorted(row, key=lambda each: order.index(each.side)))


def _drawn(
    chart: Chart, number: int, *, protocol: Protocol, lesions: Lesions, norms: Mapping[str, str]
) -> Drawn:
    drawing = build_chart(chart, protocol=protocol, lesions=lesions)
    return Drawn(
        title=drawing.title,
        side=chart.side,
        svg=render_chart(drawing, ident=f"chart-{number}"),
        key=tuple((entry.symbol, " ".join(entry.lines)) for entry in drawing.key),
        norm=norms.get(chart.subject, "") if chart.kind is Kind.MEASURE else "",
    )


def numbers_of(
    course: Course,
    *,
    turns: Sequence[int | None],
    protocol: Protocol,
    lesions: Lesions,
    norms: Mapping[str, str],
) -> Numbers:
    """Return every number of a course as a table; ``turns`` tell which visit of its day each is."""
    visits = tuple((visit.day, visit.turn) for visit in course.visits)
    groups = (
        ("Measurements", tuple(_measures(course, visits, protocol, norms))),
        ("Graded signs that changed", tuple(_grades(course, visits, protocol))),
        ("Totals of questionnaires, in points", tuple(_totals(course, visits))),
        ("How likely each lesion was, with its 90% interval", tuple(_lesions(course, visits, lesions))),
    )
    headings = (
        f"{short_date(day)}, visit {turn}" if turn else short_date(day)
        for (day, _), turn in zip(visits, turns, strict=True)
    )
    return Numbers(visits=tuple(headings), groups=tuple(group for group in groups if group[1]))


_Visit = tuple[date, int]
"""Its day, and its place among the visits of that day."""


def _cells(visits: Sequence[_Visit], values: Mapping[_Visit, str]) -> tuple[str, ...]:
    return tuple(values.get(visit, "") for visit in visits)


def _measures(
    course: Course, visits: Sequence[_Visit], protocol: Protocol, norms: Mapping[str, str]
) -> Iterator[Line]:
    for series in course.measures:
        whole = series.from_first[-1].verdict if series.from_first else None
        yield Line(
            name=subject(protocol.sign(series.sign), series.side),
            cells=_cells(
                visits, {(p.day, p.turn): signed(series.sign, p.value, series.unit) for p in series.points}
            ),
            verdict=_VERDICTS[whole] if whole else "",
            changed=_is_true(whole),
            norm=norms.get(series.sign, ""),
        )


def _grades(course: Course, visits: Sequence[_Visit], protocol: Protocol) -> Iterator[Line]:
    for series in course.grades:
        if len({(point.state, point.rank) for point in series.points}) == 1:
            continue
        grades = grades_of(series, protocol=protocol)
        whole = series.from_first[-1].verdict
        yield Line(
            name=subject(protocol.sign(series.sign), series.side),
            cells=_cells(
                visits, {(p.day, p.turn): said for p, said in zip(series.points, grades, strict=True)}
            ),
            verdict=_VERDICTS[whole],
            changed=_is_true(whole),
            norm="",
        )


def _totals(course: Course, visits: Sequence[_Visit]) -> Iterator[Line]:
    for series in course.totals:
        score = SCORES[series.score]
        whole = series.from_first[-1].verdict if series.from_first else None
        yield Line(
            name=f"{score.name}, {series.side} knee" if series.side else score.name,
            cells=_cells(visits, {(p.day, p.turn): figure(p.value) for p in series.points}),
            verdict=_VERDICTS[whole] if whole else "",
            changed=_is_true(whole),
            norm=f"{figure(score.low)} to {figure(score.high)}, more is better",
        )


def _lesions(course: Course, visits: Sequence[_Visit], lesions: Lesions) -> Iterator[Line]:
    for series in course.lesions:
        if max(point.probability for point in series.points) < LESION_FROM:
            continue
        told = {(point.day, point.turn): likelihood_told(point) for point in series.points}
        name = sentence(f"{lesions[series.lesion].name}, {series.side} knee").removesuffix(".")
        yield Line(name=name, cells=_cells(visits, told), verdict="", changed=False, norm="")


def _is_true(verdict: ChangeVerdict | None) -> bool:
    return verdict in {ChangeVerdict.TRUE_CHANGE_BETTER, ChangeVerdict.TRUE_CHANGE_WORSE}
