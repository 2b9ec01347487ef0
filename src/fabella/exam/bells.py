"""What the station clock shows: which part of the day it is, and when the next bell goes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fabella.exam.day import Day


class Phase(StrEnum):
    """A part of the day: candidates are at their stations, walk on and read, or are not there."""

    BEFORE = "before"
    STATION = "station"
    CHANGE = "change"
    BETWEEN = "between"
    AFTER = "after"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bell:
    """How the day stands at a moment.

    Parameters
    ----------
    phase
        Which part of the day it is.
    turn, step
        The round, and the stop of it, both counted from 0; before a round that which comes, in a change that
        which is over. -1 after the last.
    until_min
        When the next bell goes, in minutes after midnight; NaN after the last.
    """

    phase: Phase
    turn: int
    step: int
    until_min: float


def bell_at(day: Day, now_min: float) -> Bell:
    """Return how a day stands at a time in minutes after its midnight."""
    steps = len(day.places)
    for turn, each in enumerate(day.rounds):
        slot = day.slot_min(turn)
        if now_min < each.begins_min:
            phase = Phase.BETWEEN if turn else Phase.BEFORE
            return Bell(phase=phase, turn=turn, step=0, until_min=each.begins_min)
        step = int((now_min - each.begins_min) // slot)
        if step < steps:
            begins = each.begins_min + step * slot
            rings = begins + slot - day.change_min
            is_last = step == steps - 1
            if now_min < rings:
                return Bell(phase=Phase.STATION, turn=turn, step=step, until_min=rings)
            if not is_last:
                return Bell(phase=Phase.CHANGE, turn=turn, step=step, until_min=begins + slot)
    return Bell(phase=Phase.AFTER, turn=-1, step=-1, until_min=float("nan"))
