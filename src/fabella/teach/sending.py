"""A run as it may be sent to whoever plays it."""

from __future__ import annotations

from typing import Any

from fabella.teach.actions import event_tree
from fabella.teach.run import Run
from fabella.teach.seen import seen_tree


def run_tree(run: Run) -> dict[str, Any]:
    """Return a whole run as plain values for JSON: everything a student may get, and nothing else."""
    door = run.door
    return {
        "door": {
            "age_years": door.age_years,
            "sex": door.sex.value,
            "setting": door.setting.value,
            "side": door.side.value,
        },
        "minutes": run.terms.minutes,
        "told": run.terms.told,
        "clock_s": run.clock_s,
        "left_s": run.left_s,
        "position": run.position,
        "bare": run.bare,
        "watching": run.watching,
        "in_words": run.in_words,
        "finished": run.finished,
        "turns": [
            {"at_s": turn.at_s, "event": event_tree(turn.event), "seen": seen_tree(turn.seen)}
            for turn in run.turns
        ],
    }
