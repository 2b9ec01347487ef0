"""Who of the candidates is not there: all day, at first, or from some time on, as the lead has said."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import nan


class Presence(StrEnum):
    """Whether a candidate is there: yes, not at all, from a time on, or until a time."""

    HERE = "here"
    ABSENT = "absent"
    LATE = "late"
    LEFT = "left"


@dataclass(frozen=True, slots=True, kw_only=True)
class Attendance:
    """What was said of one candidate, and why.

    Parameters
    ----------
    at_min
        When they come or have left, in minutes after midnight; NaN for the others.
    """

    presence: Presence
    at_min: float = nan
    why: str = ""

    def misses(self, begins_min: float, ends_min: float) -> bool:
        """Say whether they are not there for all of a stop, given in minutes after midnight."""
        match self.presence:
            case Presence.ABSENT:
                return True
            case Presence.LATE:
                return begins_min < self.at_min
            case Presence.LEFT:
                return ends_min > self.at_min
        return False
