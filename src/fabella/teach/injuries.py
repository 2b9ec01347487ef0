"""What needs an injury: a practice patient who has it tells of one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fabella.infer import Model
from fabella.infer.context import UNHURT
from fabella.record import NO_INJURY, Mechanism

SELDOM_UNHURT = 0.1
"""A lesion of which it is told seldomer that there was no injury needs one (judgement).

Whoever tells so of it has forgotten the injury, or was not asked well. A clinic must reckon with that,
and the conclusion does; a practice patient who hides a torn ligament so teaches nothing.
"""


def needs_injury(model: Model) -> NDArray[np.bool_]:
    """Say of each lesion at a level (slots,) whether it cannot have come about without an injury."""
    rows = (model.knowledge.mechanisms_of(lesion, level, None) for lesion, level in model.states.slots)
    return np.array([sum(row[each] for each in UNHURT) < SELDOM_UNHURT for row in rows])


def can_be_told(model: Model, mechanism: Mechanism | None) -> NDArray[np.bool_]:
    """Say of each state (states,) whether all of it can have come about as is told."""
    if mechanism not in NO_INJURY:
        return np.ones(len(model.states), dtype=bool)
    members = model.states.members
    return np.asarray(~np.append(needs_injury(model), False)[members].any(axis=1))
