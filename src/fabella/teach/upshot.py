"""What beliefs, scores and the clock of a run amount to, in sentences: for page and terminal alike."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.anatomy import load_lesions
from fabella.report.wording import sentence
from fabella.stats.written import percentage
from fabella.teach.debriefed import Debrief
from fabella.teach.next_time import FAR
from fabella.teach.wording import clock_words

_APART = 0.2
"""Difference of two Brier scores over all lesions from which one is told to be better (judgement)."""
_STIRS = 0.1
"""How far a probability must move for something to have been learned (judgement)."""
_LONG_S = 300
"""Seconds without anything learned from which they are told (judgement)."""


def upshot_lines(found: Debrief) -> Iterator[str]:
    """Yield what lay in the findings and what in the weighing, lesion by lesion where they lie far apart."""
    if "student" not in found.scores:
        yield "You did not say what you thought. Say it next time, however unsure: then it can be compared."
    else:
        yield _whole(found)
        for lesion in dict.fromkeys((*found.believed, *found.present_of_complaint)):
            said, allowed = found.believed.get(lesion, 0.0), found.allowed.get(lesion, 0.0)
            if abs(said - allowed) >= FAR:
                name = load_lesions()[lesion].name
                you = f"you said {said:.0%}" if lesion in found.believed else "you did not name it"
                yield sentence(f"{name}: {you}, your findings allow {percentage(allowed)}")
    until = _learned_until(found)
    if found.seconds - until >= _LONG_S:
        yield (
            f"From {clock_words(until)} on nothing that you learned moved a probability by "
            f"{_STIRS:.0%}. Clearing what cannot wait is worth its time all the same; the rest was not."
        )


def _whole(found: Debrief) -> str:
    mine, findings, ideal = (found.scores[whose].brier for whose in ("student", "findings", "ideal"))
    if mine < findings - _APART:
        return "You were nearer the truth than your findings allow: look for what would have shown it."
    if mine > findings + _APART and findings > ideal + _APART:
        return "In the same time more could have been found, and what you found was good for more."
    if mine > findings + _APART:
        return "What you found was good for more: it is the weighing that cost you."
    if findings > ideal + _APART:
        return "You weighed what you found well; in the same time more could have been found."
    return "You weighed what you found well, and found about what could be found in the time."


def _learned_until(found: Debrief) -> float:
    """Return the clock of the last moment at which something that was followed moved, in seconds."""
    last = 0.0
    for before, after in zip(found.moments, found.moments[1:], strict=False):
        if any(abs(after.chances[each] - before.chances[each]) >= _STIRS for each in after.chances):
            last = after.at_s
    return last
