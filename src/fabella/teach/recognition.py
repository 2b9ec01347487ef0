"""How well a student tells signs that are there from signs that are not, sign by sign over their runs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from fabella.stats import Interval, wilson
from fabella.teach.facts import Reading, RunFacts

ENOUGH = 5
"""Readings from which a rate is told as one; below it the counts alone are told (judgement)."""

_CALLED = {Reading.RIGHT: True, Reading.GRADE: True, Reading.MISSED: False}
"""Whether somebody who read an abnormal sign so called it abnormal."""
_CLEARED = {Reading.RIGHT: True, Reading.OVERCALLED: False}
"""Whether somebody who read a normal sign so called it normal."""
_MEASURED = {Reading.RIGHT: True, Reading.MEASURED: False}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """How often of how many; ``interval`` is Wilson's at 95 %, None where there is too little to tell."""

    right: int
    n: int

    @property
    def interval(self) -> Interval | None:
        """Return the rate with its interval, once there are `ENOUGH`."""
        return wilson(successes=self.right, n=self.n) if self.n >= ENOUGH else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Recognition:
    """How one sign was read, both sides and all runs together.

    Parameters
    ----------
    seen
        Of the knees that showed it, how often it was called abnormal: the student's own sensitivity.
    cleared
        Of the knees that did not, how often it was called normal: the student's own specificity.
    graded
        Of those rightly called abnormal, how often in the right degree.
    measured
        Of the measurements, how often within the error of measuring.
    unread
        How often it was done and nothing was recorded.
    left_out
        How often it was left out although it would have told much.
    """

    sign: str
    seen: Rate
    cleared: Rate
    graded: Rate
    measured: Rate
    unread: int
    left_out: int


def recognition_of(runs: Iterable[RunFacts]) -> tuple[Recognition, ...]:
    """Return every sign that was met, those first whose reading was wrong most often.

    What the examiner told needed no reading and does not count.
    """
    counts: dict[str, Counter[tuple[Reading, bool | None]]] = {}
    for run in runs:
        for fact in run.signs:
            if fact.reading is not Reading.TOLD:
                counts.setdefault(fact.sign, Counter())[fact.reading, fact.abnormal] += 1
    found = [_recognition(sign, count) for sign, count in counts.items()]
    return tuple(sorted(found, key=lambda each: (-wrong(each), each.sign)))


def wrong(found: Recognition) -> int:
    """Return how often a sign was read wrongly."""
    rates = (found.seen, found.cleared, found.graded, found.measured)
    return sum(rate.n - rate.right for rate in rates)


def _recognition(sign: str, count: Counter[tuple[Reading, bool | None]]) -> Recognition:
    def rate(judged: dict[Reading, bool], *, abnormal: bool | None) -> Rate:
        return Rate(
            right=sum(count[reading, abnormal] for reading, right in judged.items() if right),
            n=sum(count[reading, abnormal] for reading in judged),
        )

    called = count[Reading.RIGHT, True] + count[Reading.GRADE, True]
    return Recognition(
        sign=sign,
        seen=rate(_CALLED, abnormal=True),
        cleared=rate(_CLEARED, abnormal=False),
        graded=Rate(right=count[Reading.RIGHT, True], n=called),
        measured=rate(_MEASURED, abnormal=None),
        unread=sum(n for (reading, _), n in count.items() if reading is Reading.NOT_RECORDED),
        left_out=sum(n for (reading, _), n in count.items() if reading is Reading.LEFT_OUT),
    )
