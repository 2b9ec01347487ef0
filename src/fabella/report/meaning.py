"""What it may mean, in plain words: the causes that fit best, or that no serious one was found."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.anatomy import Lesion, Side, load_lesions
from fabella.record import Examination
from fabella.report.conclusion_words import NAMED_FROM
from fabella.report.time_words import time_since
from fabella.workup import KneeConclusion, LesionProbability, Urgency, Workup

_IN_PERSON = frozenset({"bone_tumour", "soft_tissue_tumour"})
"""What is named on paper without a number: how likely it is, is told by a person (common practice)."""

_MOST_MEANINGS = 3
_MORE_LIKELY_THAN_NOT = 0.5

_IN_TEN = ((0.95, "more than 9 in 10"), (0.10, ""), (0.0, "less than 1 in 10"))
_PLAIN_SCALE = (
    (0.80, "most likely"),
    (0.60, "likely"),
    (0.40, "as likely as not"),
    (0.0, "possible, but less likely"),
)
"""Plain words for probabilities (judgement); the highest is not certain."""

_NOT_YET = "We cannot say yet what this means."
_PUZZLED = "What we found does not fit together well. We would like to look again."
_MORE_TO_CHECK = "We want to check a few more things before you go."


def may_mean(workup: Workup, *, urgent: bool) -> tuple[str, ...]:
    """Return what it may mean, never as certain; ``urgent`` when the page begins with what cannot wait.

    Nobody is told that all is well beside what cannot wait, nor while something that would have to be seen to
    now could not be excluded.
    """
    examined = [] if workup.conclusion is None else [k for k in workup.conclusion.knees if k.findings]
    if not examined:
        return (_NOT_YET,)
    puzzled = (_PUZZLED,) if any(knee.fit.poor for knee in examined) else ()
    meant = [
        _meaning(entry, knee.side)
        for knee in examined
        for entry in knee.any_level()[:_MOST_MEANINGS]
        if entry.probability >= NAMED_FROM
    ]
    if meant:
        return ("We cannot be sure yet. These are the causes that fit best.", *meant, *puzzled)
    if urgent or puzzled:
        return (_NOT_YET, *puzzled)
    if any(not each.is_met and each.urgency is Urgency.NOW for each in workup.alarms):
        return (_NOT_YET, _MORE_TO_CHECK)
    return tuple(_nothing_stands_out(examined, workup.examination))


def _nothing_stands_out(knees: list[KneeConclusion], examination: Examination) -> Iterator[str]:
    """Say that no injury was found, or of a knee that was operated on for its trouble that it does well."""
    troubled = [knee for knee in knees if knee.symptomatic]
    operated = [each for each in troubled if examination.operated_since_onset(each.side) is not False]
    if not operated:
        yield "We did not find signs of a serious injury in what we tested."
        yield f"If {'the trouble goes on' if troubled else 'your knees begin to trouble you'}, come back."
        return
    if any(knee.nothing_listed < _MORE_LIKELY_THAN_NOT for knee in operated):
        yield _NOT_YET
    else:
        yield from (_does_well(knee.side, examination) for knee in operated)
    yield "Come back if it gets worse."


def _does_well(side: Side, examination: Examination) -> str:
    days = examination.days_since_operation(side)
    after = "after an operation" if days is None else f"{time_since(days)} after an operation"
    return f"Your {side} knee is as we expect it to be {after}."


def _meaning(entry: LesionProbability, side: Side) -> str:
    """One cause: how likely in a word, what it is in plain words, and how many in ten."""
    lesion: Lesion = load_lesions()[entry.lesion]
    if lesion.id in _IN_PERSON:
        return f"There may be {lesion.plain}, in or near your {side} knee. We will talk with you about this."
    word = next(word for lowest, word in _PLAIN_SCALE if entry.probability >= lowest)
    many = next(many for lowest, many in _IN_TEN if entry.probability >= lowest)
    many = many or f"about {round(entry.probability * 10)} in 10"
    return f"{word.capitalize()} in your {side} knee: {lesion.plain} ({many})."
