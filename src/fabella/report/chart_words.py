"""What a chart of a course says in words: title, key, and the text that stands for the drawing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from fabella.anatomy import Lesions, other
from fabella.follow import BandKind, Chart, Expectation, Expected, Kind, Mark
from fabella.protocol import Protocol
from fabella.record import SCORES
from fabella.report.change_words import subject
from fabella.report.likelihood_words import short
from fabella.report.recovery_words import PROCEDURES
from fabella.report.wording import listed, quantity, sentence, short_date, signed, written_date
from fabella.stats.written import percentage

_STATISTICS = {"model_mean": "mean of a model", "acceptable_cutoff": "cut-off", "PASS": "satisfactory"}


def title(chart: Chart, *, protocol: Protocol, lesions: Lesions) -> str:
    """Return what the chart is about."""
    if chart.kind is Kind.MEASURE:
        return subject(protocol.sign(chart.subject), chart.side)
    name = SCORES[chart.subject].name if chart.kind is Kind.TOTAL else lesions[chart.subject].name
    name = sentence(name).removesuffix(".")
    return f"{name}, {chart.side} knee" if chart.side else name


def unit_words(chart: Chart) -> str:
    """Return what the values are, for the line below the title."""
    if chart.kind is Kind.LESION:
        return "probability"
    return {"deg": "degrees", "C": "degrees Celsius", "ratio": "ratio"}.get(chart.unit, chart.unit)


def tick_words(chart: Chart, value: float) -> str:
    """Return a value as it stands at the axis."""
    return f"{round(100 * value)}%" if chart.kind is Kind.LESION else quantity(value, _tight(chart))


def dot_words(chart: Chart, value: float) -> str:
    """Return a value as it stands beside its point: a probability never as 0 or 100%."""
    return short(percentage(value)) if chart.kind is Kind.LESION else tick_words(chart, value)


def value_words(chart: Chart, value: float) -> str:
    """Return a value as it is said."""
    if chart.kind is Kind.LESION:
        return percentage(value)
    return signed(chart.subject, value, chart.unit)


def _tight(chart: Chart) -> str:
    return chart.unit if chart.unit in {"deg", "%"} else ""


def day_words(chart: Chart, day: int) -> str:
    """Return a day as it stands at the axis: ``6 Jan 2025``."""
    return short_date(chart.start + timedelta(days=day))


def band_words(chart: Chart) -> str:
    """Return what the hatched band means; empty when there is none."""
    if not chart.band:
        return ""
    if chart.band_kind is BandKind.INTERVAL:
        return "90% interval"
    return "within measurement error of the first"


def own_words(chart: Chart) -> str:
    """Return what the line is: this knee, or the patient."""
    if chart.kind is Kind.LESION:
        return "probability"
    return f"{chart.side}" if chart.side else "patient"


def other_words(chart: Chart) -> str:
    """Return what the dashed line is; empty when the other side was not measured."""
    if not chart.other or chart.side is None:
        return ""
    return str(other(chart.side))


def expected_words(expected: Expected) -> str:
    """Return what a letter on the chart stands for: ``usual (median), Kornuijt 2019``."""
    statistic = _STATISTICS.get(expected.statistic, expected.statistic)
    kind = {
        Expectation.USUAL: "usual",
        Expectation.AT_LEAST: "at least this",
        Expectation.AT_MOST: "at most this",
    }[expected.expectation]
    return f"{kind} ({statistic}), {expected.source}"


def description(chart: Chart, *, protocol: Protocol, lesions: Lesions) -> str:
    """Return everything the drawing shows, in words."""
    parts = [
        f"{title(chart, protocol=protocol, lesions=lesions)}: {_listed(chart, chart.points)}",
        *_beside(chart),
        *(f"{PROCEDURES[name]} on {_date(chart, day)}" for day, name in chart.operations),
        *(f"{expected_words(each)}: {_listed(chart, each.marks)}" for each in chart.expected if each.marks),
    ]
    return " ".join(map(sentence, parts))


def _beside(chart: Chart) -> Iterator[str]:
    if beyond := other_words(chart):
        yield f"the {beyond} side: {_listed(chart, chart.other)}"
    if chart.band_kind is BandKind.INTERVAL:
        ends = [f"{percentage(each.low)} to {percentage(each.high)}" for each in chart.band]
        yield f"90% intervals: {listed(ends)}"
    elif chart.band:
        outside = [mark for mark in chart.points if changed(chart, mark)]
        yield (
            f"truly changed since the first: {_listed(chart, outside)}"
            if outside
            else "no reading differs from the first by more than the measurement error"
        )
    else:
        yield "no measurement error is known for all of these readings, so that no band is drawn"


def changed(chart: Chart, mark: Mark) -> bool:
    """Say whether a reading differs from the first by more than the error."""
    if chart.band_kind is not BandKind.SINCE_FIRST:
        return False
    return any(
        (band.day, band.turn) == (mark.day, mark.turn) and not band.low <= mark.value <= band.high
        for band in chart.band
        if mark is not chart.points[0]
    )


def _listed(chart: Chart, marks: tuple[Mark, ...] | list[Mark]) -> str:
    """Return values with their days, those of one day in turn: ``95°, then 118° on 6 January 2025``."""
    days: dict[int, list[str]] = {}
    for mark in marks:
        days.setdefault(mark.day, []).append(value_words(chart, mark.value))
    return listed([f"{', then '.join(values)} on {_date(chart, day)}" for day, values in days.items()])


def _date(chart: Chart, day: int) -> str:
    return written_date(chart.start + timedelta(days=day))
