"""A course as a page in the terminal: a table with a small line for every series, then the words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from fabella.cli.drawing import listing, paragraph
from fabella.cli.words import CAUTION
from fabella.follow import LESION_FROM, ChangeVerdict, Course, GradeSeries, Importance
from fabella.protocol import Protocol
from fabella.record import SCORES
from fabella.report.change_words import ARROW, grades_of, readings, subject
from fabella.report.course_words import CourseWords
from fabella.report.verdict_words import error_size
from fabella.report.wording import figure

BLOCKS, ASCII = "▁▂▃▄▅▆▇█", "_.-~=+*#"

_VERDICTS = {
    ChangeVerdict.TRUE_CHANGE_BETTER: "better",
    ChangeVerdict.TRUE_CHANGE_WORSE: "worse",
    ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR: "within error",
    ChangeVerdict.CANNOT_JUDGE: "cannot judge",
}
_MATTERS = {
    Importance.IMPORTANT: "patients notice",
    Importance.PERHAPS_IMPORTANT: "some notice",
    Importance.NOT_IMPORTANT: "too small to notice",
    Importance.CANNOT_JUDGE: "",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    what: str
    line: str
    series: str
    since_first: str
    last_step: str
    style: str = ""


def course_page(
    course: Course, words: CourseWords, *, protocol: Protocol, console: Console
) -> Iterator[RenderableType]:
    """Yield the page part by part; ``console`` decides the characters of the small lines."""
    ramp = ASCII if console.options.ascii_only else BLOCKS
    yield paragraph(words.span, indent=0, style="bold")
    rows = [*_measures(course, protocol, ramp), *_grades(course, protocol, ramp), *_totals(course, ramp)]
    if rows:
        yield ""
        yield _table(rows, steps=len(course.visits) - 1)
    if words.alike:
        yield paragraph(words.alike, indent=0, style="dim")
    yield from listing("Changed for the better", words.better)
    yield from listing("Changed for the worse", words.worse)
    if words.by_chance:
        yield paragraph(words.by_chance, style="dim")
    yield from listing("Cannot be judged", words.unjudged)
    yield from listing("Totals", words.totals)
    yield from listing("Beside published recovery", words.recovery)
    yield from listing("Weigh both examinations", words.weigh_both)
    yield from listing("How likely each lesion was (90% interval)", [*_likelihoods(course, words, ramp)])
    if words.likelihoods and words.likelihood_note:
        yield paragraph(words.likelihood_note)
    yield ""
    yield paragraph(f"Evidence {course.edition}. {CAUTION}", indent=0, style="dim")


def spark(
    values: Sequence[float], *, ramp: str = BLOCKS, low: float | None = None, high: float | None = None
) -> str:
    """Draw values as one character each, from the lowest to the highest step of a ramp.

    Parameters
    ----------
    values
        At least one.
    ramp
        The steps, lowest first.
    low, high
        Ends of the scale; None takes the least and the greatest value. Without a span all stand in the
        middle.
    """
    least = min(values) if low is None else low
    most = max(values) if high is None else high
    if most <= least:
        return ramp[len(ramp) // 2] * len(values)
    steps = len(ramp) - 1
    return "".join(ramp[round(steps * (value - least) / (most - least))] for value in values)


def _measures(course: Course, protocol: Protocol, ramp: str) -> Iterator[_Row]:
    for series in course.measures:
        if not series.steps:
            continue
        values = [point.value for point in series.points]
        whole, last = series.from_first[-1], series.steps[-1]
        error = "" if whole.error is None else f", error {error_size(whole.error)}"
        yield _Row(
            what=subject(protocol.sign(series.sign), series.side),
            line=spark(values, ramp=ramp),
            series=readings(series.sign, values, series.unit),
            since_first=f"{_VERDICTS[whole.verdict]} ({_signed(whole.difference)}{error})",
            last_step=_VERDICTS[last.verdict],
            style=_style(whole.verdict, last.verdict),
        )


def _grades(course: Course, protocol: Protocol, ramp: str) -> Iterator[_Row]:
    for series in course.grades:
        if not series.steps or not _moved(series):
            continue
        sign = protocol.sign(series.sign)
        whole, last = series.from_first[-1], series.steps[-1]
        ranks = [point.rank for point in series.points]
        known = [rank for rank in ranks if rank is not None]
        yield _Row(
            what=subject(sign, series.side),
            line=spark(known, ramp=ramp, low=0, high=len(sign.scale.levels) - 1) if known == ranks else "",
            series=ARROW.join(grades_of(series, protocol=protocol)),
            since_first=_VERDICTS[whole.verdict],
            last_step=_VERDICTS[last.verdict],
            style=_style(whole.verdict, last.verdict),
        )


def _totals(course: Course, ramp: str) -> Iterator[_Row]:
    for series in course.totals:
        if not series.steps:
            continue
        values = [point.value for point in series.points]
        score = SCORES[series.score]
        whole, last = series.from_first[-1], series.steps[-1]
        yield _Row(
            what=f"{score.name}, {series.side} knee" if series.side else score.name,
            line=spark(values, ramp=ramp, low=score.low, high=score.high),
            series=f"{ARROW.join(map(figure, values))} points",
            since_first=_two(f"{_VERDICTS[whole.verdict]} ({_signed(whole.difference)})", whole.importance),
            last_step=_two(_VERDICTS[last.verdict], last.importance),
            style=_style(whole.verdict, last.verdict),
        )


def _likelihoods(course: Course, words: CourseWords, ramp: str) -> Iterator[str]:
    """Yield the words about each lesion behind its line, drawn on a scale from 0 to 1."""
    followed = (
        [point.probability for point in series.points]
        for series in course.lesions
        if max(point.probability for point in series.points) >= LESION_FROM
    )
    for chances, told in zip(followed, words.likelihoods, strict=True):
        yield f"{spark(chances, ramp=ramp, low=0, high=1)} {told}" if len(chances) > 1 else told


def _two(verdict: str, importance: Importance) -> str:
    return ", ".join(filter(None, (verdict, _MATTERS[importance])))


def _moved(series: GradeSeries) -> bool:
    return len({(point.state, point.rank) for point in series.points}) > 1


def _signed(value: float) -> str:
    return figure(value) if value <= 0 else f"+{figure(value)}"


def _style(*verdicts: ChangeVerdict) -> str:
    """Return bold type for what has truly changed, since the first visit or the last one."""
    true = {ChangeVerdict.TRUE_CHANGE_BETTER, ChangeVerdict.TRUE_CHANGE_WORSE}
    return "bold" if true & set(verdicts) else ""


def _table(rows: Iterable[_Row], *, steps: int) -> Table:
    """Return the table; with one step only, its last column would repeat the one before."""
    shown = slice(None) if steps > 1 else slice(-1)
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    for column in ("", "", "at each visit", "since the first", "latest step")[shown]:
        table.add_column(column, overflow="fold")
    for row in rows:
        cells = (row.what, row.line, row.series, row.since_first, row.last_step)
        table.add_row(*map(Text, cells[shown]), style=row.style)
    return table
