"""Two students made of rules: one who does what tells most for its time, and one who does anything.

Both play through the same events as people do and know only what they are shown.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.advise import NextStep
from fabella.anatomy import Side, other
from fabella.protocol import Kind, Sign
from fabella.teach.actions import Act, Event
from fabella.teach.dice import Dice
from fabella.teach.encounter import Encounter
from fabella.teach.hidden import Hidden
from fabella.teach.known import known_by, record_of
from fabella.teach.playing import act, begin
from fabella.teach.reasoning import Reasoner, Thought
from fabella.teach.run import Terms

COURTESIES = (
    "greeting",
    "hand_hygiene",
    "identity",
    "presenting_complaint",
    "mechanism_of_injury",
    "time_since_onset",
    "consent",
    "chaperone",
    "pain_first",
    "exposure",
)
"""What both do first, whatever it tells: courtesy is not weighed against information."""

_MOST_STEPS = 120
LEAST_BITS = 0.02
"""Information below which a step is not worth its time even to somebody who has time (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing the ideal examiner did: when it began, what it promised, and what was believed after it.

    ``bits`` is the information it promised; ``thought`` holds the probability of each lesion after it.
    """

    sign: str
    side: Side
    at_s: float
    seconds: float
    bits: float
    thought: Thought


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """A finished run of one of the two."""

    encounter: Encounter
    steps: tuple[Step, ...]
    thought: Thought


def play_ideal(hidden: Hidden, terms: Terms, reasoner: Reasoner) -> Played:
    """Play the examiner who always does what tells most for its minutes and pain, as long as there is time.

    Minutes count the change of position and both knees; what is contraindicated is never done. Without a
    clock it ends when nothing is left that tells as much as `LEAST_BITS`.
    """
    encounter = _begun(hidden, terms, reasoner)
    steps: list[Step] = []
    thought = reasoner.think(known_by(encounter))
    for _ in range(_MOST_STEPS):
        if encounter.run.time_is_up:
            break
        tried = {turn.event.sign for turn in encounter.run.turns}
        steps_left = [
            each
            for each in reasoner.advice(thought).bedside
            if each.id not in tried and each.bits >= LEAST_BITS
        ]
        if not steps_left:
            break
        best = max(steps_left, key=lambda each: _worth(encounter, each))
        at = encounter.run.clock_s
        for event in _both_knees(encounter, reasoner.protocol.sign(best.id)):
            encounter = _done(encounter, event)
        thought = reasoner.think(known_by(encounter))
        took = encounter.run.clock_s - at
        steps.append(
            Step(sign=best.id, side=best.side, at_s=at, seconds=took, bits=best.bits, thought=thought)
        )
    return Played(encounter=encounter, steps=tuple(steps), thought=thought)


def play_random(hidden: Hidden, terms: Terms, reasoner: Reasoner, *, dice: Dice) -> Played:
    """Play the student who asks and examines anything at random until the time is up."""
    encounter = _begun(hidden, terms, reasoner)
    signs = [
        sign
        for sign in reasoner.protocol.sequence()
        if sign.kind is not Kind.COURTESY and sign.side_rule.value != "when_indicated"
    ]
    order = sorted(signs, key=lambda sign: dice.fraction("order", sign.id))
    for sign in order:
        if encounter.run.time_is_up:
            break
        for event in _both_knees(encounter, sign):
            encounter = _done(encounter, event)
    thought = reasoner.think(known_by(encounter))
    return Played(encounter=encounter, steps=(), thought=thought)


def _begun(hidden: Hidden, terms: Terms, reasoner: Reasoner) -> Encounter:
    encounter = begin(hidden, terms, protocol=reasoner.protocol)
    for courtesy in COURTESIES:
        encounter = act(encounter, Event(act=Act.DO, sign=courtesy))
    return act(encounter, Event(act=Act.WATCH_FACE))


def _worth(encounter: Encounter, step: NextStep) -> float:
    """Return bits a minute, the change of position and the other knee counted, pain as more time."""
    sign = encounter.protocol.sign(step.id)
    moves = not sign.is_history and sign.position != encounter.run.position
    seconds = sign.seconds_in_all + (encounter.protocol.position(sign.position).seconds if moves else 0)
    return step.bits / (max(seconds, 1) * (1 + sign.hurts))


def _both_knees(encounter: Encounter, sign: Sign) -> Iterator[Event]:
    """Yield what it takes to do a sign: on the sound knee first, where both are done."""
    if sign.is_person or sign.is_history:
        yield Event(act=Act.DO, sign=sign.id)
        return
    side = encounter.run.door.side
    if sign.side_rule.is_done_twice:
        yield Event(act=Act.DO, sign=sign.id, side=other(side))
    yield Event(act=Act.DO, sign=sign.id, side=side)


def _done(encounter: Encounter, event: Event) -> Encounter:
    """Do something and record what it showed."""
    encounter = act(encounter, event)
    shown = encounter.run.turns[-1].seen.shown
    if shown is None or event.sign is None:
        return encounter
    return act(encounter, record_of(encounter.protocol, event.sign, event.side, shown))
