"""Where a patient stands beside what is published for the time since an operation: plain frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from fabella.anatomy import Side
from fabella.record import ProcedureName


class Expectation(StrEnum):
    """What kind of number a source gives for a time point."""

    USUAL = "usual"  # the mean or median of a group: about half of its members lie below
    AT_LEAST = "at_least"  # what its authors call sufficient
    AT_MOST = "at_most"


class Place(StrEnum):
    """On which side of the published number a reading lies, whatever its measurement error."""

    BETTER = "better"
    LEVEL = "level"
    WORSE = "worse"
    REACHED = "reached"
    NOT_REACHED = "not_reached"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One reading beside one published milestone.

    Parameters
    ----------
    subject, is_total, side
        The sign, or the score when ``is_total``; the knee, None where a total does not say.
    of_difference
        True when it is about how far this side falls short of the other, not about the reading itself.
    day, procedure, on, weeks
        When, after what and when that was, and how many weeks lie between.
    value, expected, low, high
        The reading and the published number with its printed ends (None where there are none), in ``unit``.
        The ends of an interpolated number are those of the two time points.
    expectation, place
        What that number is, and where the reading lies beside it.
    error, beyond_error
        Half-width of the error of the reading at 95 % (or as its source has it), and whether the reading lies
        farther than that from the published number, or from the nearer of the two time points; None when
        unknown.
    interpolated
        True when ``expected`` lies on the line between two time points of one source; a reading between the
        numbers of both is then `Place.LEVEL`.
    statistic, timepoints, population, source, recalled, items
        What is printed, for which time points, in whom, where; from memory or not; rows of the edition.
    """

    subject: str
    is_total: bool
    side: Side | None
    of_difference: bool
    day: date
    procedure: ProcedureName
    on: date
    weeks: float
    value: float
    unit: str
    expected: float
    low: float | None
    high: float | None
    expectation: Expectation
    place: Place
    error: float | None
    beyond_error: bool | None
    interpolated: bool
    statistic: str
    timepoints: tuple[str, ...]
    population: str
    source: str
    recalled: bool
    items: tuple[str, ...]
