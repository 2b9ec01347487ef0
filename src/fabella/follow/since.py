"""An examination held against earlier ones of the same patient: the visit before, and where it began."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from fabella.errors import InputError, Problem
from fabella.evidence import Edition
from fabella.follow.course import Course
from fabella.follow.following import follow
from fabella.follow.visits import seen_in_order
from fabella.protocol import Protocol
from fabella.record import Examination


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """An examination beside an earlier one.

    Parameters
    ----------
    earlier, day
        The earlier one, and its day.
    is_last
        Whether it is the visit before; else it is where the trouble, or its treatment, began.
    before_operation
        Whether the operation that the later one tells of was done between them.
    course
        Of these two alone.
    """

    earlier: Examination
    day: date
    is_last: bool
    before_operation: bool
    course: Course


def comparisons(
    examination: Examination, earlier: Sequence[Examination], *, edition: Edition, protocol: Protocol
) -> Iterator[Comparison]:
    """Return an examination beside the visit before, and beside where it began if that is another one.

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
    if problems := tuple(_not_earlier(examination, ordered)):
        raise InputError(problems)
    chosen = worth_comparing(examination, ordered)
    return (
        Comparison(
            earlier=each,
            day=_day(each),
            is_last=each is chosen[-1],
            before_operation=_is_before_operation(each, examination),
            course=follow([each, examination], edition=edition, protocol=protocol),
        )
        for each in reversed(chosen)
    )


def worth_comparing(examination: Examination, earlier: Iterable[Examination]) -> tuple[Examination, ...]:
    """Return the earlier examinations that one is compared with, in the order of time: at most two.

    They are the last one and where it began: the last one before the operation that the examination tells of,
    or without one the first with a complaint of the same knee. Of those chosen the same are chosen again.
    """
    ordered = sorted(earlier, key=_day)
    if not ordered:
        return ()
    before = [each for each in ordered if _is_before_operation(each, examination)]
    alike = [each for each in ordered if _complaint(each) & _complaint(examination)]
    beginning = before[-1] if before else alike[0] if alike else ordered[-1]
    return (ordered[-1],) if beginning is ordered[-1] else (beginning, ordered[-1])


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
