"""What was not done and would have mattered: what it promised, and what it would have shown this time."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from fabella.advise.expect import Outlooker
from fabella.anatomy import Side
from fabella.flags import Alarm, Urgency, cannot_wait
from fabella.grade import levels_of
from fabella.packaged import packaged_table
from fabella.protocol import Kind, Protocol, SideRule, Sign
from fabella.record import Answer, Examination, Finding, State
from fabella.stats.threads import one_thread
from fabella.teach.actions import Act
from fabella.teach.encounter import Encounter
from fabella.teach.hidden import Hidden
from fabella.teach.known import known_by
from fabella.teach.reasoning import Reasoner, Thought
from fabella.teach.run import Run

MATTERS_BITS = 0.05
"""Information from which an undone sign is worth naming (judgement)."""
MOST = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A sign not done on the knee complained of.

    ``bits`` is the information it promised; ``would`` the level or the reading it would have shown;
    ``lesion`` the lesion it would have moved most, ``now`` and ``then`` its probability without and with it.
    """

    sign: str
    side: Side | None
    bits: float
    seconds: int
    would: str | float | None
    lesion: str
    now: float
    then: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Missed:
    """Something that cannot wait, by everything there was to find, and that was not established."""

    alarm: Alarm
    asked: tuple[str, ...]
    """What was still to be asked or examined for it."""
    true: bool
    """Whether this patient has what the rule is there for; else it would have been a false alarm."""

    @property
    def pressing(self) -> bool:
        """Whether it cannot wait beyond two days."""
        return self.alarm.urgency.presses


def left_out(encounter: Encounter, thought: Thought, reasoner: Reasoner) -> tuple[LeftOut, ...]:
    """Return what was left out on the knee complained of, what promised most first.

    What this patient could not have answered, or nobody could have tested on this knee, is not.
    """
    hidden, side = encounter.hidden, thought.side
    done = tried(encounter.run, side)
    forbidden = hidden.knees[side].forbidden
    undone: dict[str, Answer | Finding] = {}
    for name in reasoner.model.knowledge.signs:
        sign = reasoner.protocol.sign(name)
        if name in done or not sign.seconds or sign.kind is Kind.COURTESY or sign.is_summary:
            continue
        if sign.side_rule is SideRule.WHEN_INDICATED or forbidden & {each.id for each in sign.avoid_when}:
            continue
        if (there := _there(hidden, sign, side)) is not None:
            undone[name] = there
    levels = {name: len(levels_of(reasoner.protocol.sign(name))) - 1 for name in undone}
    with one_thread():
        prospects = Outlooker(reasoner.model, thought.evidence, thought.posterior).prospects(levels)
    found = sorted(
        ((each.bits, name) for name, each in prospects.items() if each.bits >= MATTERS_BITS), reverse=True
    )
    return tuple(_left_out(thought, reasoner, name, bits, undone[name]) for bits, name in found[:MOST])


def tried(run: Run, side: Side) -> frozenset[str | None]:
    """Return what was done or recorded on a knee or of the person, though the patient may have refused it."""
    end = math.inf if run.terms.minutes is None else run.terms.minutes * 60
    return frozenset(
        turn.event.sign
        for turn in run.turns
        if turn.event.side in (side, None)
        and (turn.event.act is Act.RECORD or (turn.at_s < end and not turn.seen.covered))
    )


def _there(hidden: Hidden, sign: Sign, side: Side) -> Answer | Finding | None:
    """Return what a sign would have shown; None where no answer is known, or nobody can test it here."""
    if sign.is_history:
        return hidden.answers[sign.id]
    found = hidden.everything.finding(sign.id, None if sign.is_person else side)
    return None if found is None or found.state is State.UNTESTABLE else found


def _left_out(
    thought: Thought, reasoner: Reasoner, name: str, bits: float, there: Answer | Finding
) -> LeftOut:
    sign = reasoner.protocol.sign(name)
    side = None if sign.is_person or sign.is_history else thought.side
    would: str | float | None
    if isinstance(there, Finding):
        with_it, would = thought.examination.with_finding(there), there.level or there.value
    else:
        with_it = _asked(thought.examination, name, there)
        would = ("yes" if there else "no") if isinstance(there, bool) else float(there)
    after = reasoner.think(with_it).chances
    moved = max(after, key=lambda lesion: abs(after[lesion] - thought.chances[lesion]))
    return LeftOut(
        sign=name,
        side=side,
        bits=bits,
        seconds=sign.seconds_in_all,
        would=would,
        lesion=moved,
        now=thought.chances[moved],
        then=after[moved],
    )


def _asked(examination: Examination, item: str, answer: Answer) -> Examination:
    return replace(examination, history={**examination.history, item: answer})


def missed_alarms(encounter: Encounter, reasoner: Reasoner) -> tuple[Missed, ...]:
    """Return what cannot wait by everything there was to find, and was not established.

    What the patient really has comes first, then the most urgent.
    """
    found = {(each.rule, each.side): each for each in reasoner.alarms(known_by(encounter))}
    true = [alarm for alarm in reasoner.alarms(encounter.hidden.everything) if alarm.is_met]
    missed: list[Missed] = []
    for alarm in true:
        known = found.get((alarm.rule, alarm.side))
        if known is not None and known.is_met:
            continue
        asked = tuple(each.ask for each in known.unknown) if known is not None else ()
        missed.append(Missed(alarm=alarm, asked=asked, true=_is_true(encounter.hidden, alarm)))
    order = list(Urgency)
    return tuple(sorted(missed, key=lambda each: (not each.true, order.index(each.alarm.urgency))))


def pressing_alarms(hidden: Hidden, *, protocol: Protocol) -> tuple[Alarm, ...]:
    """Return what cannot wait beyond two days by everything there is to find, and is true."""
    return tuple(
        alarm
        for alarm in cannot_wait(hidden.everything, protocol=protocol)
        if alarm.is_met and alarm.urgency.presses and _is_true(hidden, alarm)
    )


def _is_true(hidden: Hidden, alarm: Alarm) -> bool:
    sides = [alarm.side] if alarm.side is not None else list(hidden.knees)
    slots = [slot for side in sides for slot in hidden.knees[side].lesions]
    here = {lesion for lesion, _ in slots} | {f"{lesion}:{level}" for lesion, level in slots}
    return bool(here.intersection(packaged_table("teach/data/alarms.toml").get(alarm.rule, ())))
