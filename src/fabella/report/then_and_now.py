"""What was looked at both at an earlier visit and now, and what became of it: worse, better, the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

from fabella.anatomy import Side
from fabella.follow import ChangeVerdict, ChangeWhy, Course, GradeSeries, MeasureChange
from fabella.protocol import Kind, Protocol
from fabella.record import SCORES
from fabella.report.change_words import (
    ChangeWords,
    grade_words,
    grades_of,
    measure_words,
    subject,
    total_words,
)
from fabella.report.wording import lowered


class Become(IntEnum):
    """What has become of something that was looked at both times, what matters most first."""

    WORSE = 0
    BETTER = 1
    CHANGED = 2
    REGRADED = 3
    WITHIN_ERROR = 4
    AS_BEFORE = 5
    NORMAL = 6
    UNJUDGED = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class ThenAndNow:
    """What was looked at both times, in words: its name, its change, and what that comes to.

    ``subject`` is its sign or score, ``grade`` the one of now, empty for what is not graded.
    """

    kind: Become
    subject: str
    side: Side | None
    name: str
    change: ChangeWords
    grade: str = ""

    def inside(self, words: str) -> str:
        """Return words that begin with its name for the middle of a sentence; a score keeps its capital."""
        return words if self.subject in SCORES else lowered(words)


def then_and_now(course: Course, protocol: Protocol) -> Iterator[ThenAndNow]:
    """Yield what was looked at both times: measurements and grades in the order of the body, then totals."""
    for measure in course.measures:
        if measure.steps:
            yield ThenAndNow(
                kind=_measured(measure.steps[-1]),
                subject=measure.sign,
                side=measure.side,
                name=subject(protocol.sign(measure.sign), measure.side),
                change=measure_words(measure, measure.steps[-1], protocol=protocol),
            )
    for series in course.grades:
        if series.steps and protocol.sign(series.sign).kind is not Kind.COURTESY:
            yield ThenAndNow(
                kind=_graded(series),
                subject=series.sign,
                side=series.side,
                name=subject(protocol.sign(series.sign), series.side),
                change=grade_words(series, series.steps[-1], protocol=protocol),
                grade=grades_of(series, protocol=protocol)[-1],
            )
    for total in course.totals:
        if total.steps:
            yield ThenAndNow(
                kind=_KINDS[total.steps[-1].verdict],
                subject=total.score,
                side=total.side,
                name=SCORES[total.score].name,
                change=total_words(total, total.steps[-1]),
            )


_KINDS = {
    ChangeVerdict.TRUE_CHANGE_WORSE: Become.WORSE,
    ChangeVerdict.TRUE_CHANGE_BETTER: Become.BETTER,
    ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR: Become.WITHIN_ERROR,
    ChangeVerdict.CANNOT_JUDGE: Become.UNJUDGED,
}


def _measured(step: MeasureChange) -> Become:
    unsure = step.verdict is ChangeVerdict.CANNOT_JUDGE and ChangeWhy.BEYOND_ERROR in step.reasons
    return Become.CHANGED if unsure else _KINDS[step.verdict]


def _graded(series: GradeSeries) -> Become:
    step = series.steps[-1]
    if ChangeWhy.SAME_GRADE in step.reasons:
        return Become.AS_BEFORE if series.points[-1].rank else Become.NORMAL
    kind = _KINDS[step.verdict]
    return Become.REGRADED if kind is Become.WITHIN_ERROR else kind
