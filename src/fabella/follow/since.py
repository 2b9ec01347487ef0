"""An examination held against earlier ones: the visit before, that about the same knee, where it began."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from fabella.errors import Problem, Problems
from fabella.evidence import Edition
from fabella.follow.course import Course
from fabella.follow.following import follow
from fabella.follow.visits import seen_in_order
from fabella.protocol import Protocol
from fabella.record import Examination


class Since(StrEnum):
    """Which earlier visit an examination stands beside.

    ``LAST`` is the last one with a complaint of the same knee, or of all where none had; ``MEANWHILE`` one
    after it, the very visit before, that was about the other knee; ``BEGINNING`` where the trouble, or its
    treatment, began.
    """

    LAST = "since"
    MEANWHILE = "meanwhile"
    BEGINNING = "beginning"


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """An examination beside an earlier one.

    Parameters
    ----------
    earlier, day
        The earlier one, and its day.
    since
        Which of those that matter it is.
    before_operation
        Whether the operation that the later one tells of was done between them.
    course
        Of these two alone.
    """

    earlier: Examination
    day: date
    since: Since
    before_operation: bool
    course: Course


def comparisons(
    examination: Examination, earlier: Sequence[Examination], *, edition: Edition, protocol: Protocol
) -> Iterator[Comparison]:
    """Return an examination beside each of the earlier ones that matter, in the order of `Since`.

    Each is worked out when it is asked for; what is wrong with the visits is said at once.

    Raises
    ------
    InputError
        Listing every one without a day or of another patient; or else every one that is not earlier.
    """
    ordered = sorted(earlier, key=_day)
    if not ordered:
        return iter(())
    everyone = sorted([*ordered, examination], key=_day)
    seen_in_order(everyone)
    Problems(_not_earlier(examination, ordered)).raise_any()
    chosen = _chosen(examination, ordered)
    return (
        Comparison(
            earlier=each,
            day=_day(each),
            since=since,
            before_operation=_is_before_operation(each, examination),
            course=follow([each, examination], edition=edition, protocol=protocol),
        )
        for since, each in chosen.items()
    )


def _chosen(examination: Examination, ordered: Sequence[Examination]) -> dict[Since, Examination]:
    """Return which of some earlier examinations, at least one in the order of time, matter; none twice."""
    alike = [each for each in ordered if _complaint(each) & _complaint(examination)]
    last = alike[-1] if alike else ordered[-1]
    before = [each for each in alike or ordered if _is_before_operation(each, examination)] or [
        each for each in ordered if _is_before_operation(each, examination)
    ]
    beginning = before[-1] if before else alike[0] if alike else last
    chosen = {Since.LAST: last}
    if ordered[-1] is not last:
        chosen[Since.MEANWHILE] = ordered[-1]
    if all(beginning is not each for each in chosen.values()):
        chosen[Since.BEGINNING] = beginning
    return chosen


def _not_earlier(examination: Examination, earlier: Sequence[Examination]) -> Iterator[Problem]:
    for each in earlier:
        if each.examined_on and examination.examined_on and each.examined_on >= examination.examined_on:
            yield Problem(
                place=f"examination {each.id}",
                value=str(each.examined_on),
                says=f"is not earlier than {examination.id}, {examination.examined_on}",
                remedy="give visits of days before it",
            )


def _day(examination: Examination) -> date:
    return examination.examined_on or date.min


def _complaint(examination: Examination) -> frozenset[str]:
    return frozenset(examination.context.complained_of)


def _is_before_operation(earlier: Examination, examination: Examination) -> bool:
    """Say whether the operation that an examination tells of, on a knee complained of, came after another."""
    done, knees = examination.context.procedure, _complaint(examination)
    return done is not None and _day(earlier) < done.on and (not knees or bool(knees & {*done.sides}))
