"""Which of the rules that a candidate did not meet are reasons for what was decided."""

from __future__ import annotations

from collections.abc import Iterable

from fabella.assess import Outcome, Reason


def reasons_for(outcome: Outcome, reasons: Iterable[Reason]) -> tuple[Reason, ...]:
    """Return the reasons for an outcome: who is not decided about took too few stations, failing none."""
    if outcome is Outcome.INSUFFICIENT:
        return tuple(each for each in reasons if each is Reason.TOO_FEW_TAKEN)
    return tuple(reasons)
