"""One thing to practise next: the gravest first, and of equals what has come up before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from fabella.teach.conduct import MUCH, Check, Hurt
from fabella.teach.left_out import LeftOut, Missed
from fabella.teach.misreading import Misread, Slip
from fabella.teach.unchecked import Unchecked

FAR = 0.4
"""Distance of a belief from what the findings allow from which it is too sure or unsure (judgement)."""
MOVES = 0.1
"""How much nearer the truth what was left out must have brought a lesion to be worth a lesson (judgement)."""
MUCH_LEFT_BITS = 0.15
"""Information left undone from which it is worth a lesson of its own (judgement)."""


class Topic(StrEnum):
    """What a lesson is about."""

    FORBIDDEN = "forbidden"
    MISSED_ALARM = "missed_alarm"
    UNCHECKED = "unchecked"
    CONSENT = "consent"
    PAIN = "pain"
    BOTH_KNEES = "both_knees"
    MISREAD = "misread"
    LEFT_OUT = "left_out"
    COURTESY = "courtesy"
    TOO_SURE = "too_sure"
    TOO_UNSURE = "too_unsure"
    ORDER = "order"
    NOTHING = "nothing"


_GRAVITY: Mapping[Topic, float] = {
    Topic.FORBIDDEN: 10,
    Topic.MISSED_ALARM: 9,
    Topic.UNCHECKED: 9,
    Topic.CONSENT: 8,
    Topic.PAIN: 6,
    Topic.BOTH_KNEES: 5,
    Topic.TOO_SURE: 4.7,
    Topic.TOO_UNSURE: 4.6,
    Topic.LEFT_OUT: 4.5,
    Topic.MISREAD: 4,
    Topic.COURTESY: 3,
    Topic.ORDER: 2,
    Topic.NOTHING: 0,
}
"""How much each weighs (judgement: what can harm a patient before what costs marks)."""
_AGAIN, _MOST_AGAIN = 0.3, 3
"""Added for each earlier run that taught the same, and for how many at most.

However often a smaller thing comes up, it never goes before what can harm.
"""
_GRAVEST = (Slip.MISSED, Slip.OVERCALLED, Slip.NOT_TESTABLE, Slip.READING, Slip.NOT_DONE)

_CONSENT = ("consent", "pain_first", "hand_hygiene")
_COURTESY = ("greeting", "identity", "chaperone", "exposure", "face_watched", "closing")
_ORDER = ("sound_side_first", "look_feel_move", "completion")


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """One thing to practise; ``about`` is the sign, alarm, habit or lesion it is about, empty when none."""

    topic: Topic
    about: str = ""


def lesson_of(
    *,
    conduct: Sequence[Check],
    hurts: Sequence[Hurt],
    left_out: Sequence[LeftOut],
    missed: Sequence[Missed],
    unchecked: Sequence[Unchecked],
    misread: Sequence[Misread],
    believed: Mapping[str, float] | None,
    allowed: Mapping[str, float],
    present: Sequence[str],
    earlier: Mapping[str, int],
) -> Lesson:
    """Return the one thing to practise next.

    Parameters
    ----------
    believed, allowed
        Probability (0..1) by lesion: as the student said (None: nothing was said; empty: that it is none of
        the lesions), and as the findings allow. Whoever is as sure as
        the findings allow has nothing to learn about that, though the lesion may not be there; whoever is
        right without findings that say so has.
    earlier
        How often each topic came up in earlier runs.
    """
    unkept = [check.id for check in conduct if check.kept is False]
    read = sorted(
        (each for each in misread if each.slip in _GRAVEST), key=lambda each: _GRAVEST.index(each.slip)
    )
    given = believed or {}
    sure = {lesion: p - allowed.get(lesion, 0.0) for lesion, p in given.items()}
    unsure = {lesion: allowed.get(lesion, 0.0) - given.get(lesion, 0.0) for lesion in present}
    found = {
        Topic.FORBIDDEN: [each.sign for each in hurts if each.known],
        Topic.MISSED_ALARM: [each.alarm.rule for each in missed if each.true and each.pressing],
        Topic.UNCHECKED: [each.sign for each in unchecked],
        Topic.CONSENT: [each for each in _CONSENT if each in unkept],
        Topic.PAIN: [each.sign for each in hurts if each.degree > MUCH],
        Topic.BOTH_KNEES: [each for each in unkept if each == "both_knees"],
        Topic.TOO_SURE: _far(sure),
        Topic.TOO_UNSURE: [] if believed is None else _far(unsure),
        Topic.LEFT_OUT: [each.sign for each in telling(left_out, present)],
        Topic.MISREAD: [each.sign for each in read],
        Topic.COURTESY: [each for each in _COURTESY if each in unkept],
        Topic.ORDER: [each for each in _ORDER if each in unkept],
    }
    topics = [topic for topic, about in found.items() if about]
    if not topics:
        return Lesson(topic=Topic.NOTHING)
    worst = max(
        topics,
        key=lambda topic: _GRAVITY[topic] + _AGAIN * min(earlier.get(topic.value, 0), _MOST_AGAIN),
    )
    return Lesson(topic=worst, about=found[worst][0])


def telling(left_out: Sequence[LeftOut], present: Sequence[str]) -> tuple[LeftOut, ...]:
    """Return what promised much and would have brought a lesion nearer the truth, the farthest first.

    What would have misled in this patient teaches nobody to do it.
    """

    def nearer(each: LeftOut) -> float:
        return each.then - each.now if each.lesion in present else each.now - each.then

    found = [each for each in left_out if each.bits >= MUCH_LEFT_BITS and nearer(each) >= MOVES]
    return tuple(sorted(found, key=lambda each: -nearer(each)))


def _far(gaps: Mapping[str, float]) -> list[str]:
    """Return the lesions of which belief and findings lie far apart, the farthest first."""
    return sorted((lesion for lesion, gap in gaps.items() if gap >= FAR), key=lambda lesion: -gaps[lesion])
