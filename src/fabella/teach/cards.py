"""A practice patient without a screen: one plays it, one examines, one marks and tells what is found.

The volunteer's own knees are healthy: they act the story, the limp and the pain; whoever marks reads out what
each manoeuvre would have shown.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.anatomy import Side, other
from fabella.protocol import Kind, Sign
from fabella.report.wording import signed
from fabella.teach.actions import Act, Event
from fabella.teach.answering import degree_of, pain_of, shown_now
from fabella.teach.encounter import Encounter
from fabella.teach.everything import NOT_AT_ONCE, rounded
from fabella.teach.hidden import Hidden
from fabella.teach.playing import begin, replay
from fabella.teach.run import Terms
from fabella.teach.speech import answer_words, story_words
from fabella.teach.telling import told_words
from fabella.teach.wording import door_words, lesion_words

CLEARLY = 2
"""Degree of pain from which a card names a manoeuvre even though it shows nothing."""
_STORY = ("presenting_complaint", "mechanism_of_injury", "time_since_onset", "age_and_activity", "pain_first")
_DEGREES = ("", "a little: say that it is sore", "clearly: say so and pull a face", "far too much: say stop")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cards:
    """What each of the three holds in the hand; all lines are whole sentences or findings in words.

    Parameters
    ----------
    door
        For everybody.
    story
        For whoever plays: the open questions and what to answer.
    answers
        The further questions and what to answer; to any other the answer is no.
    acting
        What to do when standing, walking and bending.
    hurts
        What hurts, and how much, if it is done.
    lesions
        For whoever marks: what each knee has.
    findings
        What to read out when a sign is done, abnormal ones of the whole protocol; all else is normal.
    """

    door: str
    story: tuple[tuple[str, str], ...]
    answers: tuple[tuple[str, str], ...]
    acting: tuple[str, ...]
    hurts: tuple[tuple[str, str], ...]
    lesions: tuple[str, ...]
    findings: tuple[str, ...]


def cards_of(hidden: Hidden) -> Cards:
    """Return the cards of a patient."""
    ready = replay(
        hidden, Terms(), [Event(act=Act.DO, sign="pain_first"), Event(act=Act.DO, sign="exposure")]
    )
    protocol = ready.protocol
    return Cards(
        door=door_words(begin(hidden, Terms()).run.door),
        story=tuple((protocol.sign(each).technique, story_words(hidden, each)) for each in _STORY),
        answers=tuple(
            (sign.technique, answer_words(hidden, sign.id))
            for sign in protocol.history()
            if sign.routine or hidden.answers[sign.id] not in (False, None)
        ),
        acting=tuple(_acting(hidden)),
        hurts=tuple(_hurts(ready)),
        lesions=tuple(_lesions(hidden)),
        findings=tuple(_findings(ready)),
    )


def _acting(hidden: Hidden) -> Iterator[str]:
    side = hidden.person.side
    limp = hidden.outcomes["antalgic_gait", side].level
    if limp:
        yield f"Walk with a {'marked ' if limp > 1 else ''}limp: as short as you can on the {side} leg."
    if hidden.outcomes["unable_to_weight_bear", side].level:
        yield f"Do not put weight on the {side} leg."
    if hidden.outcomes["stiff_knee_gait", side].level:
        yield f"Walk with the {side} knee stiff."
    if hidden.outcomes["held_flexed", side].level:
        yield f"Lie with the {side} knee half bent."
    for sign, words in (
        ("passive_flexion", "Let it bend to about"),
        ("passive_extension", "Straighten it to about"),
    ):
        outcome = hidden.outcomes[sign, side]
        if outcome.level and outcome.read is not None:
            yield f"{words} {signed(sign, rounded(outcome.read, 'deg'), 'deg')}, no further ({side} knee)."
    if hidden.complaint.prevented or hidden.complaint.guarding:
        yield f"Tighten the muscles of the {side} leg whenever it is tested."


def _hurts(ready: Encounter) -> Iterator[tuple[str, str]]:
    for sign in ready.protocol.sequence():
        if sign.is_person or sign.is_history or not sign.hurts or sign.id in NOT_AT_ONCE:
            continue
        for side in (other(ready.run.door.side), ready.run.door.side):
            degree = degree_of(pain_of(ready, sign, side))
            if degree >= CLEARLY or (degree and ready.hidden.outcomes[sign.id, side].level):
                yield f"{sign.name}, {side}", _DEGREES[degree]


def _lesions(hidden: Hidden) -> Iterator[str]:
    for side, knee in hidden.knees.items():
        names = [lesion_words(lesion, level) for lesion, level in knee.lesions]
        yield f"{str(side).capitalize()} knee: {', '.join(names) or 'nothing that the model lists'}."


def _findings(ready: Encounter) -> Iterator[str]:
    sides = (other(ready.run.door.side), ready.run.door.side)
    prevented = [side for side in sides if ready.hidden.knees[side].prevented]
    yield from (
        f"No stress test of the {each} knee can be done: the muscles do not let go." for each in prevented
    )
    for sign in ready.protocol.sequence():
        if sign.kind in (Kind.HISTORY, Kind.COURTESY) or sign.id in NOT_AT_ONCE:
            continue
        for side in (None,) if sign.is_person else sides:
            if not (sign.stress_test and side in prevented) and (words := _finding(ready, sign, side)):
                yield words


def _finding(ready: Encounter, sign: Sign, side: Side | None) -> str:
    shown = shown_now(ready, sign, side)
    outcome = ready.hidden.outcomes[sign.id, side]
    measured = sign.scale.measure is not None and not sign.scale.levels
    if not shown.possible or shown.level or (measured and (outcome.level or sign.routine)):
        return told_words(sign, side, shown)
    return ""
