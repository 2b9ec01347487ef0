"""What an injury of today cannot have brought about yet: an infection through it needs time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fabella.infer.states import Slot, States
from fabella.record import NO_INJURY, Context

SHOWS_AT_ONCE = 0.1
"""Share of the infections through an injury that show within a day of it (judgement).

Bites of dogs and cats show theirs after 8 to 24 hours, and people come either at once, for the wound, or from
12 hours on, for the infection (common practice); a joint that was opened takes days.
"""
INFECTIONS = frozenset[Slot](
    (
        ("septic_arthritis", "present"),
        ("osteomyelitis", "present"),
        ("prepatellar_bursitis", "septic"),
        ("prosthesis_infection", "low_grade"),
        ("prosthesis_infection", "acute"),
    )
)


def hurt_today(context: Context) -> bool:
    """Say whether the trouble is an injury of less than a day."""
    hurt = context.mechanism is not None and context.mechanism not in NO_INJURY
    return hurt and context.onset_days is not None and context.onset_days < 1


def shown_today(states: States) -> NDArray[np.float64]:
    """Return the share of each slot that shows within a day of the injury that brought it about (slots,)."""
    return np.array([SHOWS_AT_ONCE if slot in INFECTIONS else 1.0 for slot in states.slots])
