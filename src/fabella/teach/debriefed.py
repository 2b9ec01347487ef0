"""What a student is shown after a practice patient: plain frozen values, worded elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.infer.states import Slot
from fabella.teach.conduct import Check, Hurt
from fabella.teach.left_out import LeftOut, Missed
from fabella.teach.misreading import Misread
from fabella.teach.next_time import Lesson
from fabella.teach.rarity import Rarity
from fabella.teach.run import Turn
from fabella.teach.scores import Scores
from fabella.teach.unchecked import Unchecked
from fabella.workup import Reason, Workup


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """What could be believed after a step, and what the student said to believe by then.

    ``sign`` and ``side`` are what was learned; ``chances`` the probability (0..1) of each lesion followed;
    ``believed`` is empty until the student said something.
    """

    at_s: float
    sign: str | None
    side: Side | None
    chances: Mapping[str, float]
    believed: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class IdealStep:
    """One step of the ideal examiner: when, what it promised in bits, and the chances after it."""

    at_s: float
    sign: str
    side: Side
    bits: float
    chances: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Debrief:
    """Everything a student learns afterwards.

    Parameters
    ----------
    complaint
        The knee complained of.
    present
        The lesions of each knee, now told.
    rarest
        The one of the knee complained of that is very rare at the patient's age; None when none is.
    seconds
        What the run took.
    turns
        The timeline.
    conduct, hurts
        How it was done, and what hurt or was contraindicated.
    left_out, missed
        What was not done and mattered for this patient; what cannot wait and was not established.
    unchecked
        What had to be examined below such a knee, whatever it would have shown, and was not.
    misread
        Records that differ from what was there.
    moments
        The probabilities step by step, the first before anything was learned.
    worth
        What each finding was worth for each lesion that is there, and for the one believed most.
    workup
        The clinic's answer to what the student found; None only if it failed.
    believed, allowed
        Probability (0..1) by lesion as the student said at last, and as the findings allow.
    guarded_from_s
        When the knee complained of began to guard because it had been hurt, in seconds of the run; None when
        it did not, or guarded from the start.
    ideal, ideal_seconds
        The path an ideal examiner would have taken in the same time with the same patient.
    scores
        Of the student (None without a differential), of the model on the student's findings, and of the
        ideal examiner.
    lesson
        One thing to practise next.
    """

    complaint: Side
    present: Mapping[Side, tuple[Slot, ...]]
    rarest: Rarity | None
    seconds: float
    turns: tuple[Turn, ...]
    conduct: tuple[Check, ...]
    hurts: tuple[Hurt, ...]
    left_out: tuple[LeftOut, ...]
    missed: tuple[Missed, ...]
    unchecked: tuple[Unchecked, ...]
    misread: tuple[Misread, ...]
    moments: tuple[Moment, ...]
    worth: Mapping[str, tuple[Reason, ...]]
    workup: Workup
    believed: Mapping[str, float]
    allowed: Mapping[str, float]
    guarded_from_s: float | None
    ideal: tuple[IdealStep, ...]
    ideal_seconds: float
    scores: Mapping[str, Scores]
    lesson: Lesson

    @property
    def present_of_complaint(self) -> tuple[str, ...]:
        """The lesions of the knee complained of, each once."""
        return tuple(dict.fromkeys(lesion for lesion, _ in self.present[self.complaint]))
