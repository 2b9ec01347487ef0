"""A course in words: what has truly changed, what has not, what cannot be judged, and how recovery goes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from fabella.anatomy import Lesions
from fabella.follow import (
    LESION_FROM,
    ChangeVerdict,
    ChangeWhy,
    Course,
    GradeChange,
    GradeSeries,
    LesionPoint,
    MeasureChange,
    MeasureSeries,
    TotalSeries,
)
from fabella.protocol import Protocol
from fabella.report.change_words import (
    ARROW,
    grade_verdict,
    grade_words,
    measure_verdict,
    measure_words,
    total_verdict,
    total_words,
)
from fabella.report.letter import written_date
from fabella.report.likelihood_words import chance
from fabella.report.recovery_words import standing_words
from fabella.report.wording import sentence

Told = tuple[ChangeVerdict, str]

_TRUE = (ChangeVerdict.TRUE_CHANGE_BETTER, ChangeVerdict.TRUE_CHANGE_WORSE)
_UNDER_ITS_HEADING = ": cannot be judged, as "


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseWords:
    """The course in sentences, group by group; a group about which there is nothing to say is empty.

    Parameters
    ----------
    span
        From when to when, in how many visits.
    better, worse, unchanged, unjudged
        Every series that changed, with its true changes from visit to visit, under the verdict since the
        first visit, or where that is none, under that of its latest true change.
    alike
        How many graded signs have kept their grade.
    totals
        Totals of questionnaires, each with both verdicts.
    likelihoods, likelihood_note
        How likely each lesion was at each visit (90 % interval), of those that were ever likely enough to
        follow; and what must be known to read them.
    recovery
        Where the patient stood beside published recovery on the last day for which there is any.
    """

    span: str
    better: tuple[str, ...]
    worse: tuple[str, ...]
    unchanged: tuple[str, ...]
    unjudged: tuple[str, ...]
    alike: str
    totals: tuple[str, ...]
    likelihoods: tuple[str, ...]
    likelihood_note: str
    recovery: tuple[str, ...]


def course_words(course: Course, *, protocol: Protocol, lesions: Lesions) -> CourseWords:
    """Return a course in words."""
    told = [*_measures(course.measures, protocol), *_grades(course.grades, protocol)]

    def of(verdict: ChangeVerdict) -> tuple[str, ...]:
        return tuple(words for kind, words in told if kind is verdict)

    return CourseWords(
        span=_span(course),
        better=of(ChangeVerdict.TRUE_CHANGE_BETTER),
        worse=of(ChangeVerdict.TRUE_CHANGE_WORSE),
        unchanged=of(ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR),
        unjudged=tuple(each.replace(_UNDER_ITS_HEADING, ": ", 1) for each in of(ChangeVerdict.CANNOT_JUDGE)),
        alike=_alike(course.grades),
        totals=tuple(_totals(course.totals)),
        likelihoods=tuple(_likelihoods(course, lesions)),
        likelihood_note=_note(course),
        recovery=tuple(_recovery(course, protocol)),
    )


def _span(course: Course) -> str:
    first, last, count = course.visits[0].day, course.visits[-1].day, len(course.visits)
    if count == 1:
        return f"One visit, on {written_date(first)}."
    if first == last:
        return f"{count} visits on {written_date(first)}."
    return f"{count} visits from {written_date(first)} to {written_date(last)}."


def _measures(measures: Sequence[MeasureSeries], protocol: Protocol) -> Iterator[Told]:
    for series in measures:
        if not series.steps:
            continue
        steps = [(step, measure_verdict(series, step)) for step in series.steps]
        words = measure_words(series, series.from_first[-1], protocol=protocol)
        yield _told(words, series.from_first[-1], steps)


def _grades(grades: Sequence[GradeSeries], protocol: Protocol) -> Iterator[Told]:
    for series in grades:
        if not series.steps or _kept(series):
            continue
        steps = [(step, grade_verdict(step)) for step in series.steps]
        yield _told(
            grade_words(series, series.from_first[-1], protocol=protocol), series.from_first[-1], steps
        )


def _told(
    words: str, whole: MeasureChange | GradeChange, steps: Sequence[tuple[MeasureChange | GradeChange, str]]
) -> Told:
    """Return a sentence with the true changes between visits, under the verdict that matters most.

    That is the one since the first visit when it is a true change, else that of the latest step which is one;
    then the steps come first, as what stands under a change has to begin with it.
    """
    true = [(step, verdict) for step, verdict in steps if step.verdict in _TRUE]
    if len(steps) > 1:
        between = [f"{_spell(step.since, step.until)} {_shortened(verdict)}" for step, verdict in true]
        if between and whole.verdict not in _TRUE:
            head, _, verdict = words.partition(": ")
            it = "it " if verdict.startswith("cannot") else ""
            words = f"{head}: {'; '.join(between)}; since the first visit {it}{verdict}"
        else:
            words = "; ".join((words, *between))
    latest = true[-1][0].verdict if true else whole.verdict
    return (whole.verdict if whole.verdict in _TRUE else latest), sentence(words)


def _spell(since: date, until: date) -> str:
    return f"from {written_date(since)} to {written_date(until)}"


def _kept(series: GradeSeries) -> bool:
    return all(ChangeWhy.SAME_GRADE in step.reasons for step in series.steps)


def _alike(grades: Sequence[GradeSeries]) -> str:
    count = sum(1 for series in grades if series.steps and _kept(series))
    if not count:
        return ""
    return (
        "1 graded sign has kept its grade." if count == 1 else f"{count} graded signs have kept their grade."
    )


def _totals(totals: Sequence[TotalSeries]) -> Iterator[str]:
    for series in totals:
        if not series.steps:
            continue
        words = total_words(series, series.from_first[-1])
        if len(series.steps) > 1:
            last = series.steps[-1]
            words += f". {sentence(_spell(last.since, last.until))[:-1]}: {_shortened(total_verdict(last))}"
        yield sentence(words)


def _likelihoods(course: Course, lesions: Lesions) -> Iterator[str]:
    for each in course.lesions:
        if max(point.probability for point in each.points) < LESION_FROM:
            continue
        told = ARROW.join(map(likelihood_told, each.points))
        yield sentence(f"{lesions[each.lesion].name}, {each.side} knee: {told}")


def likelihood_told(point: LesionPoint) -> str:
    """Return a probability with its 90 % interval: ``97% (93 to 98)``."""
    told = chance(point.probability, low=point.low, high=point.high)
    ends = told.interval.removesuffix("%")
    return told.percent if " " in told.percent else f"{told.percent} ({ends})"


def _note(course: Course) -> str:
    if any(visit.procedures for visit in course.visits) and course.lesions:
        return "The model does not know what was done to a knee: after an operation these are no diagnoses."
    return ""


def _recovery(course: Course, protocol: Protocol) -> Iterator[str]:
    """Yield where the patient stood on the last day for which anything is published."""
    last = max((each.day for each in course.standings), default=None)
    for each in course.standings:
        if each.day == last:
            yield sentence(standing_words(each, protocol=protocol))


def _shortened(verdict: str) -> str:
    """Return a verdict without what stands in brackets, which the sentence before it has told."""
    return re.sub(r" \([^()]*\)", "", verdict)
