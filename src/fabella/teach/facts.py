"""What a debriefed run shows about its student, as plain facts that are kept and counted over many runs.

Nothing here is a judgement: which sign was read how, which habit was kept, what was believed of which lesion.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from fabella.anatomy import Side
from fabella.grade import levels_of
from fabella.protocol import Kind
from fabella.teach.actions import Act
from fabella.teach.conduct import MUCH
from fabella.teach.debriefed import Debrief
from fabella.teach.encounter import Encounter
from fabella.teach.left_out import pressing_alarms
from fabella.teach.misreading import Misread, Slip
from fabella.teach.next_time import telling
from fabella.teach.run import Turn
from fabella.teach.unchecked import must_be_checked


class Reading(StrEnum):
    """What became of a sign on one side."""

    RIGHT = "right"
    """Recorded as it showed, a measurement within its error."""
    MISSED = "missed"
    """It showed something, and was recorded as normal."""
    OVERCALLED = "overcalled"
    """It showed nothing, and was recorded as abnormal."""
    GRADE = "grade"
    """Seen, and called a degree too high or too low."""
    MEASURED = "measured"
    """Measured, and further from the truth than measuring errs."""
    NOT_TESTABLE = "not_testable"
    """It could not be tested and was recorded as if it had been, or the reverse."""
    NOT_DONE = "not_done"
    """Recorded without having been done."""
    NOT_RECORDED = "not_recorded"
    """Done, and nothing was recorded."""
    TOLD = "told"
    """Done, and what it brought came in words: an answer, or a finding told by the examiner."""
    LEFT_OUT = "left_out"
    """Not done, although it promised much and would have led nearer the truth about this patient."""


_SLIPS = {
    Slip.MISSED: Reading.MISSED,
    Slip.OVERCALLED: Reading.OVERCALLED,
    Slip.GRADE: Reading.GRADE,
    Slip.READING: Reading.MEASURED,
    Slip.NOT_TESTABLE: Reading.NOT_TESTABLE,
    Slip.NOT_DONE: Reading.NOT_DONE,
    Slip.NOT_RECORDED: Reading.NOT_RECORDED,
}

HARMLESS, GENTLE, ALERT = "nothing_forbidden", "little_pain", "what_cannot_wait"
"""Habits beyond the points of conduct: nothing contraindicated that could be known, nothing that hurt too
much, and what cannot wait established; each stands only where it could come up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SignFact:
    """One sign on one side (None: of the person).

    ``abnormal`` is whether it showed something: None where it has no levels, could not be tested or was left
    out; ``seconds`` what doing it took altogether, ``at_s`` the clock when it was first done or recorded.
    """

    sign: str
    side: Side | None
    reading: Reading
    abnormal: bool | None
    at_s: float | None
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HabitFact:
    """One habit that could come up: kept or not, and in what share (0..1) of its chances if counted."""

    habit: str
    kept: bool
    share: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BeliefFact:
    """One lesion of the knee complained of: the probability (0..1) it was given, and whether it is there.

    ``believed`` is None for a lesion that is there and was not named.
    """

    lesion: str
    believed: float | None
    present: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFacts:
    """The facts of one finished run; ``minutes`` of the station (None: no clock), ``seconds`` it took."""

    minutes: float | None
    told: bool
    seconds: float
    signs: tuple[SignFact, ...]
    habits: tuple[HabitFact, ...]
    beliefs: tuple[BeliefFact, ...]


def facts_of(encounter: Encounter, found: Debrief) -> RunFacts:
    """Return the facts of a run that has been debriefed."""
    terms = encounter.run.terms
    present = {lesion for lesion, _ in encounter.hidden.complaint.lesions}
    unnamed = sorted(present - set(found.believed))
    return RunFacts(
        minutes=terms.minutes,
        told=terms.told,
        seconds=found.seconds,
        signs=(*_done(encounter, found.misread), *_left_out(found)),
        habits=tuple(_habits(encounter, found)),
        beliefs=(
            *(
                BeliefFact(lesion=each, believed=p, present=each in present)
                for each, p in found.believed.items()
            ),
            *(BeliefFact(lesion=each, believed=None, present=True) for each in unnamed),
        ),
    )


def _done(encounter: Encounter, slips: Sequence[Misread]) -> Iterator[SignFact]:
    """Yield everything that was done or recorded, in the order in which it first was."""
    slipped = {(each.sign, each.side): _SLIPS[each.slip] for each in slips}
    recorded, done = encounter.run.recorded(), _turns_by_sign(encounter)
    for (name, side), turns in done.items():
        sign = encounter.protocol.sign(name)
        note = recorded.get((name, side))
        shown = [turn.seen.shown.level for turn in turns if turn.seen.shown is not None]
        levels = [level for level in shown if level is not None]
        if sign.is_history or (encounter.run.terms.told and note is None):
            reading = Reading.TOLD
        elif (name, side) in slipped:
            reading = slipped[name, side]
        else:
            reading = Reading.RIGHT if note is not None else Reading.NOT_RECORDED
        abnormal = max(levels) > 0 if levels else None
        if reading is Reading.RIGHT and note is not None and note.event.level is not None:
            abnormal = note.event.level != levels_of(sign)[0]  # which of its showings was read
        yield SignFact(
            sign=name,
            side=side,
            reading=reading,
            abnormal=abnormal,
            at_s=turns[0].at_s,
            seconds=sum(turn.seen.seconds for turn in turns),
        )
    for (name, side), turn in recorded.items():
        if slipped.get((name, side)) is Reading.NOT_DONE:
            yield SignFact(
                sign=name, side=side, reading=Reading.NOT_DONE, abnormal=None, at_s=turn.at_s, seconds=0.0
            )


def _turns_by_sign(encounter: Encounter) -> dict[tuple[str, Side | None], list[Turn]]:
    """Return the turns that brought something, by sign and side; courtesies are habits, not signs."""
    found: dict[tuple[str, Side | None], list[Turn]] = {}
    for turn in encounter.run.turns:
        event, seen = turn.event, turn.seen
        if event.act is not Act.DO or event.sign is None or seen.covered or seen.refused:
            continue
        if encounter.protocol.sign(event.sign).kind is not Kind.COURTESY:
            found.setdefault((event.sign, event.side), []).append(turn)
    return found


def _left_out(found: Debrief) -> Iterator[SignFact]:
    for each in telling(found.left_out, found.present_of_complaint):
        yield SignFact(
            sign=each.sign,
            side=each.side,
            reading=Reading.LEFT_OUT,
            abnormal=None,
            at_s=None,
            seconds=0.0,
        )


def _habits(encounter: Encounter, found: Debrief) -> Iterator[HabitFact]:
    for check in found.conduct:
        if check.kept is not None:
            yield HabitFact(habit=check.id, kept=check.kept, share=check.share)
    if any(turn.event.side is not None and turn.event.act is Act.DO for turn in encounter.run.turns):
        yield HabitFact(habit=HARMLESS, kept=not any(each.known for each in found.hurts), share=None)
        yield HabitFact(habit=GENTLE, kept=all(each.degree <= MUCH for each in found.hurts), share=None)
    if must_be_checked(encounter.hidden) or pressing_alarms(encounter.hidden, protocol=encounter.protocol):
        missed = bool(found.unchecked) or any(each.true and each.pressing for each in found.missed)
        yield HabitFact(habit=ALERT, kept=not missed, share=None)
