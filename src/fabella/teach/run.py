"""A student with a practice patient: what was done and seen so far, one event after the other.

`Run` is the student's side and holds nothing hidden; `fabella.teach.playing` takes it from event to event.
Pages and terminal keep the events and play them again: the same events bring the same run.
"""

from __future__ import annotations

from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.record import Setting, Sex
from fabella.teach.actions import Act, Event
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

    def __hash__(self) -> int:
        """Return a hash of what tells turns apart at a glance: what a turn moved is looked up by it often."""
        event = self.event
        return hash((self.at_s, event.act, event.sign, event.side, event.level, self.seen.clock_s))


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Everything a student did and was shown; it holds nothing hidden.

    ``position`` is where the patient is now, ``bare`` whether both legs are, ``watching`` whether the face is
    watched, ``in_words`` whether drawings are told in words, as the student asked.
    """

    door: Door
    terms: Terms
    turns: tuple[Turn, ...] = ()
    clock_s: float = 0.0
    position: str = "history"
    bare: bool = False
    watching: bool = False
    in_words: bool = False
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
    def has_said(self) -> bool:
        """Whether the student said what they think; that it is none of the lesions is said too."""
        return any(turn.event.act is Act.BELIEVE for turn in self.turns)

    @property
    def beliefs(self) -> tuple[tuple[str, float], ...]:
        """What the student last said to believe, as (lesion, probability) pairs."""
        said = [turn.event.beliefs for turn in self.turns if turn.event.act is Act.BELIEVE]
        return said[-1] if said else ()
