"""A student with a practice patient: what was done and seen so far, one event after the other.

The student's side is `Run`; the patient's is `Encounter`, which also remembers where it hurts. Pages and
terminal keep the events and play them again: the same events bring the same run.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from fabella.anatomy import Side
from fabella.protocol import Protocol, load_protocol
from fabella.record import Setting, Sex
from fabella.teach.actions import Act, Event
from fabella.teach.hidden import Hidden
from fabella.teach.seen import Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """How it is played: minutes of the station (None: no clock), and whether findings are told in words."""

    minutes: float | None = None
    told: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """What stands on the door: who waits behind it, and with which knee."""

    age_years: float
    sex: Sex
    setting: Setting
    side: Side


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One event, the clock when it began, and what it brought."""

    event: Event
    at_s: float
    seen: Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Everything a student did and was shown; it holds nothing hidden.

    ``position`` is where the patient is now, ``bare`` whether both legs are, ``watching`` whether the face is
    watched.
    """

    door: Door
    terms: Terms
    turns: tuple[Turn, ...] = ()
    clock_s: float = 0.0
    position: str = "history"
    bare: bool = False
    watching: bool = False
    finished: bool = False

    @property
    def left_s(self) -> float | None:
        """Seconds that are left, never below 0; None without a clock."""
        return None if self.terms.minutes is None else max(0.0, self.terms.minutes * 60 - self.clock_s)

    @property
    def time_is_up(self) -> bool:
        """Whether nothing more can be done with the patient; what was found can still be told."""
        return self.left_s == 0.0

    @property
    def events(self) -> tuple[Event, ...]:
        """The events, from which the run can be played again."""
        return tuple(turn.event for turn in self.turns)

    def done(self, sign: str, side: Side | None = None) -> tuple[Turn, ...]:
        """Return the turns in which a sign was done on a side and could be."""
        return tuple(
            turn
            for turn in self.turns
            if turn.event.act is Act.DO
            and (turn.event.sign, turn.event.side) == (sign, side)
            and not (turn.seen.covered or turn.seen.refused)
        )

    def recorded(self) -> dict[tuple[str, Side | None], Turn]:
        """Return the last record of each sign and side, in the order in which they were first recorded."""
        kept: dict[tuple[str, Side | None], Turn] = {}
        for turn in self.turns:
            if turn.event.act is Act.RECORD and turn.event.sign is not None:
                kept[turn.event.sign, turn.event.side] = turn
        return kept

    @property
    def beliefs(self) -> tuple[tuple[str, float], ...]:
        """What the student last said to believe, as (lesion, probability) pairs."""
        said = [turn.event.beliefs for turn in self.turns if turn.event.act is Act.BELIEVE]
        return said[-1] if said else ()


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Encounter:
    """A run with the patient behind it; ``hurt`` is the pain given to each knee so far."""

    hidden: Hidden
    protocol: Protocol = field(default_factory=load_protocol)
    run: Run
    hurt: tuple[tuple[Side, float], ...] = tuple((side, 0.0) for side in Side)

    def __repr__(self) -> str:
        return f"Encounter(hidden, {len(self.run.turns)} turns)"

    def hurt_on(self, side: Side | None) -> float:
        """Return the pain given so far to a knee; both together when no side is named."""
        return sum(each for own, each in self.hurt if side in (own, None))


def begin(hidden: Hidden, terms: Terms, *, protocol: Protocol | None = None) -> Encounter:
    """Return the encounter before anything is done."""
    patient, context = hidden.person.patient, hidden.person.context
    door = Door(
        age_years=patient.age_years or 0.0,
        sex=patient.sex or Sex.FEMALE,
        setting=context.setting or Setting.SPECIALIST_CLINIC,
        side=hidden.person.side,
    )
    return Encounter(hidden=hidden, protocol=protocol or load_protocol(), run=Run(door=door, terms=terms))


def act(encounter: Encounter, event: Event) -> Encounter:
    """Return the encounter after one more event.

    The event must be one that `fabella.teach.actions.faults` finds nothing wrong with. After the end nothing
    changes; when the time is up, only what was found can still be told.
    """
    from fabella.teach.answering import answered  # noqa: PLC0415  answering knows encounters

    run = encounter.run
    if run.finished:
        return encounter
    begun = replace(run, clock_s=run.clock_s + event.thought_s)
    answer = answered(replace(encounter, run=begun), event)
    seen = replace(answer.seen, clock_s=begun.clock_s + answer.seen.seconds)
    turn = Turn(event=event, at_s=begun.clock_s, seen=seen)
    return replace(
        encounter,
        hurt=tuple(
            (side, pain + (answer.pain if side is answer.side else 0)) for side, pain in encounter.hurt
        ),
        run=replace(
            answer.run,
            turns=(*run.turns, turn),
            clock_s=seen.clock_s,
            finished=event.act is Act.FINISH,
        ),
    )


def replay(
    hidden: Hidden, terms: Terms, events: Iterable[Event], *, protocol: Protocol | None = None
) -> Encounter:
    """Return the encounter after all these events."""
    encounter = begin(hidden, terms, protocol=protocol)
    for event in events:
        encounter = act(encounter, event)
    return encounter
