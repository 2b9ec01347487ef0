"""What was found, side by side and ready to be worded: the shape that letter, summary and plate read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from fabella.anatomy import Side
from fabella.record import Answer, AtOdds


class Outcome(StrEnum):
    """What became of one sign on one side; the four are never collapsed."""

    NOT_EXAMINED = "not examined"
    NORMAL = "normal"
    ABNORMAL = "abnormal"
    COULD_NOT_BE_TESTED = "could not be tested"
    UNJUDGED = "recorded"
    """A value was written down, but neither a norm nor the other knee tells whether it is abnormal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One sign on one side, or of the whole person.

    Parameters
    ----------
    sign, name, step
        Id and name of the sign, and the step of the examination it belongs to.
    side
        None when the sign belongs to the person.
    outcome
        What became of it.
    grade
        The grade in the words of its scale, such as ``2+`` or ``marked``; empty when the sign was not graded.
    level, levels
        Position of the grade on its scale (0 is normal), and how many grades the scale has.
    value, unit, other_value
        The measurement, its unit, and the same measurement on the other side; None when not taken.
    beyond_error
        Whether the difference between the sides exceeds the measurement error; None when that is unknown.
    why
        Why the sign could not be tested; empty otherwise.
    method
        How it was measured, as the examiner said it, such as ``15 cm above the patella``; empty if untold.
    note
        The examiner's own words; empty when there are none.
    """

    sign: str
    name: str
    step: str
    side: Side | None
    outcome: Outcome
    grade: str = ""
    level: int = 0
    levels: int = 0
    value: float | None = None
    unit: str = ""
    other_value: float | None = None
    beyond_error: bool | None = None
    why: str = ""
    method: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """All readings in the examiner's order, the history, findings that disagree, the knees complained of."""

    all: tuple[Reading, ...]
    answers: Mapping[str, Answer] = field(default_factory=lambda: MappingProxyType({}))
    at_odds: tuple[AtOdds, ...] = ()
    complaint: tuple[Side, ...] | None = None

    def of(self, side: Side | None) -> tuple[Reading, ...]:
        """Return what was found on one side, or about the person."""
        return tuple(reading for reading in self.all if reading.side is side)

    def find(self, sign: str, side: Side | None) -> Reading | None:
        """Return one reading, or None when the sign was not recorded there."""
        return next((each for each in self.all if each.sign == sign and each.side is side), None)

    def with_outcome(self, outcome: Outcome, side: Side | None) -> tuple[Reading, ...]:
        """Return the readings of one side that had this outcome."""
        return tuple(reading for reading in self.of(side) if reading.outcome is outcome)

    def examined(self, side: Side) -> bool:
        """Say whether hands or eyes were laid on this knee at all; the history alone does not count."""
        return any(self._hands_on(side))

    def tested(self, side: Side) -> bool:
        """Say whether anything could be tested on this knee, and not merely tried."""
        return any(each.outcome is not Outcome.COULD_NOT_BE_TESTED for each in self._hands_on(side))

    def abnormal(self, side: Side) -> int:
        """Return how many abnormal findings there are on one side, without the history."""
        return sum(reading.outcome is Outcome.ABNORMAL for reading in self._hands_on(side))

    def _hands_on(self, side: Side) -> Iterator[Reading]:
        return (
            reading
            for reading in self.of(side)
            if reading.step != HISTORY and reading.outcome is not Outcome.NOT_EXAMINED
        )


HISTORY = "history"
"""The step that asks instead of examining."""
