"""A course in words: what has truly changed, what has not, what cannot be judged, and how recovery goes."""

from __future__ import annotations

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
from fabella.record import Examination
from fabella.report.change_words import ARROW, ChangeWords, grade_words, measure_words, total_words
from fabella.report.likelihood_words import chance
from fabella.report.recovery_words import standing_words
from fabella.report.undone_words import undone_words
from fabella.report.verdict_words import Verdict, grade_verdict, measure_verdict, total_verdict
from fabella.report.wording import sentence, written_date
from fabella.workup import Workup

Told = tuple[ChangeVerdict, str]

BY_CHANCE = (
    "Each is judged by itself: of twenty readings of a knee that has not changed about one goes beyond its "
    "error by chance, of twenty grades up to two."
)
_TRUE = (ChangeVerdict.TRUE_CHANGE_BETTER, ChangeVerdict.TRUE_CHANGE_WORSE)


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
    by_chance
        How often an unchanged knee would be told as changed; empty where no change is told.
    alike
        How many graded signs have kept their grade.
    totals
        Totals of questionnaires, each with both verdicts.
    likelihoods, likelihood_note
        How likely each lesion was at each visit (90 % interval), of those that were ever likely enough to
        follow; and what must be known to read them.
    recovery
        Where the patient stood beside published recovery on the last day for which there is any.
    weigh_both
        What an earlier visit told as likely and the last one does not, though it does not go away unnoticed.
    """

    span: str
    better: tuple[str, ...]
    worse: tuple[str, ...]
    unchanged: tuple[str, ...]
    unjudged: tuple[str, ...]
    by_chance: str
    alike: str
    totals: tuple[str, ...]
    likelihoods: tuple[str, ...]
    likelihood_note: str
    recovery: tuple[str, ...]
    weigh_both: tuple[str, ...]


def course_words(
    course: Course,
    *,
    protocol: Protocol,
    lesions: Lesions,
    visits: Sequence[Workup | Examination],
) -> CourseWords:
    """Return a course in words.

    ``visits`` are those that were followed, in the same order.
    """
    told = [*_measures(course.measures, protocol), *_grades(course.grades, protocol)]

    def of(verdict: ChangeVerdict) -> tuple[str, ...]:
        return tuple(words for kind, words in told if kind is verdict)

    return CourseWords(
        span=_span(course),
        better=of(ChangeVerdict.TRUE_CHANGE_BETTER),
        worse=of(ChangeVerdict.TRUE_CHANGE_WORSE),
        unchanged=of(ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR),
        unjudged=of(ChangeVerdict.CANNOT_JUDGE),
        by_chance=BY_CHANCE if any(kind in _TRUE for kind, _ in told) else "",
        alike=_alike(course.grades),
        totals=tuple(_totals(course.totals)),
        likelihoods=tuple(_likelihoods(course, lesions)),
        likelihood_note=_note(course),
        recovery=tuple(_recovery(course, protocol)),
        weigh_both=tuple(
            each.words for each in undone_words(course.undone, visits, protocol=protocol, lesions=lesions)
        ),
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
        if series.steps:
            whole = series.from_first[-1]
            steps = [(step, measure_verdict(series, step)) for step in series.steps]
            yield _told(measure_words(series, whole, protocol=protocol), whole, steps)


def _grades(grades: Sequence[GradeSeries], protocol: Protocol) -> Iterator[Told]:
    for series in grades:
        if series.steps and not _kept(series):
            whole = series.from_first[-1]
            steps = [(step, grade_verdict(step)) for step in series.steps]
            yield _told(grade_words(series, whole, protocol=protocol), whole, steps)


def _told(
    change: ChangeWords,
    whole: MeasureChange | GradeChange,
    steps: Sequence[tuple[MeasureChange | GradeChange, Verdict]],
) -> Told:
    """Return a sentence with the true changes between visits, under the verdict that matters most.

    That is the one since the first visit when it is a true change, else that of the latest step which is one;
    then the steps come first, as what stands under a change has to begin with it. What could not be graded at
    the first visit is told since it was.
    """
    true = [(step, verdict) for step, verdict in steps if step.verdict in _TRUE]
    under = whole.verdict if whole.verdict in _TRUE or not true else true[-1][0].verdict
    between = [f"{_spell(step.since, step.until)} {verdict.short}" for step, verdict in true]
    if under is ChangeVerdict.CANNOT_JUDGE:
        parts = [change.verdict.under_its_heading]
    elif len(steps) == 1:
        parts = [change.verdict.words]
    elif between and whole.verdict not in _TRUE:
        when = "the first visit" if whole.since == steps[0][0].since else written_date(whole.since)
        parts = [*between, change.verdict.since(when)]
    else:
        parts = [change.verdict.words, *between]
    return under, sentence(f"{change.head}: {'; '.join(parts)}")


def _spell(since: date, until: date) -> str:
    if since == until:
        return f"on {written_date(since)}"
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
        told = [total_words(series, series.from_first[-1]).words]
        if len(series.steps) > 1:
            last = series.steps[-1]
            told.append(f"{_spell(last.since, last.until)}: {total_verdict(last).short}")
        yield " ".join(map(sentence, told))


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
        return "After an operation what it was done for counts as mended, and what healing brings as usual."
    return ""


def _recovery(course: Course, protocol: Protocol) -> Iterator[str]:
    """Yield where the patient stood on the last day for which anything is published."""
    last = max((each.day for each in course.standings), default=None)
    for each in course.standings:
        if each.day == last:
            yield sentence(standing_words(each, protocol=protocol))
