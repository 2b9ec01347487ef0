"""One thing to practise next: the gravest first, and of equals what has come up before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from fabella.teach.conduct import MUCH, Check, Hurt
from fabella.teach.left_out import LeftOut, Missed
from fabella.teach.misreading import Misread, Slip

SURE = 0.8
"""Belief in a lesion that is not there from which it counts as too sure (judgement)."""
MUCH_LEFT_BITS = 0.15
"""Information left undone from which it is worth a lesson of its own (judgement)."""


class Topic(StrEnum):
    """What a lesson is about."""

    FORBIDDEN = "forbidden"
    MISSED_ALARM = "missed_alarm"
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
    Topic.CONSENT: 8,
    Topic.PAIN: 6,
    Topic.BOTH_KNEES: 5,
    Topic.LEFT_OUT: 4.5,
    Topic.MISREAD: 4,
    Topic.TOO_SURE: 3.5,
    Topic.COURTESY: 3,
    Topic.TOO_UNSURE: 2.5,
    Topic.ORDER: 2,
    Topic.NOTHING: 0,
}
"""How much each weighs (judgement: what can harm a patient before what costs marks)."""
_AGAIN = 0.7
"""Added for each earlier run that taught the same."""
_UNSURE = 0.3

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
    misread: Sequence[Misread],
    believed: Mapping[str, float],
    present: Sequence[str],
    earlier: Mapping[str, int],
) -> Lesson:
    """Return the one thing to practise next; ``earlier`` counts the topics of earlier runs."""
    unkept = [check.id for check in conduct if check.kept is False]
    read = [each for each in misread if each.slip not in (Slip.NOT_RECORDED, Slip.GRADE)]
    absent = {lesion: p for lesion, p in believed.items() if lesion not in present}
    found = {
        Topic.FORBIDDEN: [each.sign for each in hurts if each.known],
        Topic.MISSED_ALARM: [each.alarm.rule for each in missed if each.true and each.pressing],
        Topic.CONSENT: [each for each in _CONSENT if each in unkept],
        Topic.PAIN: [each.sign for each in hurts if each.degree > MUCH],
        Topic.BOTH_KNEES: [each for each in unkept if each == "both_knees"],
        Topic.LEFT_OUT: [each.sign for each in left_out if each.bits >= MUCH_LEFT_BITS],
        Topic.MISREAD: [each.sign for each in read],
        Topic.TOO_SURE: [lesion for lesion, p in absent.items() if p >= SURE],
        Topic.COURTESY: [each for each in _COURTESY if each in unkept],
        Topic.TOO_UNSURE: [lesion for lesion in present if believed and believed.get(lesion, 0) < _UNSURE],
        Topic.ORDER: [each for each in _ORDER if each in unkept],
    }
    topics = [topic for topic, about in found.items() if about]
    if not topics:
        return Lesson(topic=Topic.NOTHING)
    worst = max(topics, key=lambda topic: _GRAVITY[topic] + _AGAIN * earlier.get(topic.value, 0))
    return Lesson(topic=worst, about=found[worst][0])
