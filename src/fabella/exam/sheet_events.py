"""What is said on a mark sheet, one event after the other, as the tablet that made it wrote it down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final


class Act(StrEnum):
    """What an event says; the first four are statements, about an item, the whole or the candidate."""

    MARK = "mark"
    GRADE = "grade"
    COMMENT = "comment"
    CONCERN = "concern"
    BEGIN = "begin"
    FINISH = "finish"
    REOPEN = "reopen"
    SETTLE = "settle"
    LEAVE = "leave"
    VOID = "void"
    HELD = "held"


STATEMENTS: Final = (Act.MARK, Act.GRADE, Act.COMMENT, Act.CONCERN)

OF_THE_LEAD: Final = (Act.SETTLE, Act.LEAVE, Act.VOID, Act.HELD)
"""What the exam lead alone says: which of two things holds, or neither; that a sheet is void, lost or its
station never held, or that it is not after all."""


class Missing(StrEnum):
    """Why an item has no mark; none is 0, which an item that was not done gets.

    ``not_reached``: the bell came first, as the examiner says.
    """

    NOT_OBSERVED = "not_observed"
    NOT_OFFERED = "not_offered"
    NOT_REACHED = "not_reached"


Value = int | Missing | str | None
"""Of a statement: a mark or why there is none, a grade, or a text; None where nothing is stated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetEvent:
    """One event.

    Parameters
    ----------
    at
        The time on the device.
    ahead_s
        How far the device's clock was ahead of the server's [s]; None when it could not be known.
    seconds
        Since the sheet was begun [s].
    seen
        Number of the last event of this sheet that was shown on the device, 0 before any.
    about
        Of a statement what it is itself, of a settlement what it settles, or what is left open; ``item`` may
        say of which item.
    value
        What is stated; None takes back what stood there, so that an undo is an event as well.
    reason
        Why the sheet is opened again, the settlement made, the dispute left open or the sheet void.
    holds
        Of a settlement: the id of the event that holds; empty where nothing is to stand.
    """

    act: Act
    at: datetime
    seconds: float = 0.0
    seen: int = 0
    ahead_s: float | None = None
    about: Act | None = None
    item: str = ""
    value: Value = None
    reason: str = ""
    holds: str = ""

    @property
    def moment(self) -> datetime:
        """When it was made by the server's clock, as far as that can be known."""
        return self.at - timedelta(seconds=self.ahead_s or 0.0)
