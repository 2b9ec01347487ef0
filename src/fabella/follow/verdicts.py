"""What a difference between two visits may amount to, and why."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import StrEnum
from itertools import pairwise
from typing import TypeVar

Point = TypeVar("Point")
Change = TypeVar("Change")


class ChangeVerdict(StrEnum):
    """What a difference between two visits amounts to."""

    TRUE_CHANGE_BETTER = "true_change_better"
    TRUE_CHANGE_WORSE = "true_change_worse"
    NO_LARGER_THAN_MEASUREMENT_ERROR = "no_larger_than_measurement_error"
    CANNOT_JUDGE = "cannot_judge"


class ChangeWhy(StrEnum):
    """A reason behind a verdict on a change; the numbers it speaks of stand beside it."""

    BEYOND_ERROR = "beyond_error"
    WITHIN_ERROR = "within_error"
    METHODS_DIFFER = "methods_differ"
    COARSER_METHOD = "coarser_method"
    METHOD_ASSUMED = "method_assumed"
    ERROR_OF_ONE_EXAMINER = "error_of_one_examiner"
    ERROR_UNKNOWN = "error_unknown"
    DIRECTION_UNKNOWN = "direction_unknown"
    GOES_BEYOND = "goes_beyond"
    BEYOND_DISAGREEMENT = "beyond_disagreement"
    WITHIN_DISAGREEMENT = "within_disagreement"
    AGREEMENT_UNKNOWN = "agreement_unknown"
    SAME_GRADE = "same_grade"
    GRADE_NOT_GIVEN = "grade_not_given"
    COULD_NOT_BE_TESTED = "could_not_be_tested"


class Importance(StrEnum):
    """Whether a change of a total is one that patients notice; apart from whether it is beyond error."""

    IMPORTANT = "important"
    PERHAPS_IMPORTANT = "perhaps_important"
    NOT_IMPORTANT = "not_important"
    CANNOT_JUDGE = "cannot_judge"


def compare_pairs(
    points: Sequence[Point],
    compare: Callable[[Point, Point], Change],
    *,
    tells: Callable[[Point], bool] = lambda _: True,
) -> tuple[tuple[Change, ...], tuple[Change, ...]]:
    """Return the changes from each point to the next, and those of every later point from the first.

    That is the first which ``tells`` anything, once there is one: a test prevented by pain at the first visit
    hides nothing of what became of the knee afterwards.
    """
    first = next((number for number, each in enumerate(points) if tells(each)), 0)
    return (
        tuple(compare(earlier, later) for earlier, later in pairwise(points)),
        tuple(
            compare(points[first if number > first else 0], later)
            for number, later in enumerate(points)
            if number
        ),
    )
