"""What one sign showed on one side; not examined, normal, abnormal and untestable are never the same."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fabella.anatomy import Side


class State(StrEnum):
    """What became of a sign: it was left out, showed nothing, showed something, or could not be tried."""

    NOT_EXAMINED = "not_examined"
    NORMAL = "normal"
    ABNORMAL = "abnormal"
    UNTESTABLE = "untestable"


class Reason(StrEnum):
    """Why a sign could not be tried."""

    PAIN = "pain"
    GUARDING = "guarding"
    SWELLING = "swelling"
    PLASTER_OR_BRACE = "plaster_or_brace"
    NOT_SAFE = "not_safe"
    REFUSED = "refused"
    NOT_ABLE_TO_COOPERATE = "not_able_to_cooperate"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """The outcome of one sign on one side.

    Parameters
    ----------
    sign
        Its id in the protocol; never a history item, which is answered in the history.
    side
        The knee; None only for a sign of the whole person.
    state
        None only beside a ``value`` without a ``level``: it was read, and judging it is left to the grading.
    level
        One of the sign's levels, the first of which is normal; None = not graded, so that an abnormal
        finding without a level reads "positive, grade not given".
    value
        The reading in ``unit``, the unit that the protocol gives the sign; None = not measured.
    method
        How ``level`` or ``value`` was taken, e.g. "long goniometer"; None = not stated.
    reason
        Why the sign was untestable; None for every other state.
    note
        Anything else, in free words.
    """

    sign: str
    side: Side | None = None
    state: State | None = None
    level: str | None = None
    value: float | None = None
    unit: str | None = None
    method: str | None = None
    reason: Reason | None = None
    note: str | None = None
