"""What was done to a patient's knees, in plain words: looked at, felt, moved, and tested for firmness."""

from __future__ import annotations

from fabella.anatomy import Side
from fabella.report.phrases import load_phrases
from fabella.report.readings import Outcome, Readings

_FIRMNESS = frozenset({"cruciate ligaments", "collateral ligaments", "posterolateral corner"})
"""The groups of findings that tell how firm a knee is."""


def looked_for(readings: Readings) -> tuple[str, ...]:
    """Return what was done, and which knee was not examined."""
    if not any(map(readings.examined, Side)):
        return ("We talked about your knees. We did not examine them.",)
    seen = [side for side in Side if readings.tested(side)]
    firm = [side for side in seen if _firmness_tested(readings, side)]
    if firm == list(Side):
        return ("We looked at both of your knees. We felt them, moved them and tested how firm they are.",)
    if len(seen) == len(Side):
        both = "We looked at both of your knees. We felt them and moved them."
        return (both, *(f"We tested how firm your {side} knee is." for side in firm))
    looked = [
        f"We looked at your {side} knee. We felt it, moved it and tested how firm it is."
        if side in firm
        else f"We looked at your {side} knee. We felt it and moved it."
        for side in seen
    ]
    unseen = [
        f"We could not test your {side} knee today."
        if readings.examined(side)
        else f"We did not examine your {side} knee."
        for side in Side
        if side not in seen
    ]
    return (*looked, *unseen)


def _firmness_tested(readings: Readings, side: Side) -> bool:
    """Say whether any test of how firm the knee is told something."""
    signs = {sign for group in load_phrases().groups if group.name in _FIRMNESS for sign in group.signs}
    learned = {Outcome.NORMAL, Outcome.ABNORMAL, Outcome.UNJUDGED}
    return any(each.sign in signs and each.outcome in learned for each in readings.of(side))
