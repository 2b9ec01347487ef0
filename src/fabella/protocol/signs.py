"""What the examiner can look for: the types of one sign, its scale and its place in the examination."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fabella.anatomy import Structure
from fabella.errors import InputError, suggestion


class Kind(StrEnum):
    """What the examiner does for a sign."""

    COURTESY = "courtesy"
    HISTORY = "history"
    LOOK = "look"
    FEEL = "feel"
    MOVE = "move"
    TEST = "test"
    GENERAL = "general"


class Sides(StrEnum):
    """Whether a sign has a right and a left, or belongs to the person."""

    EACH = "each"
    PERSON = "person"


class SideRule(StrEnum):
    """In which order or way the two sides are done."""

    SOUND_SIDE_FIRST = "sound_side_first"
    TOGETHER = "together"
    THIS_MINUS_OTHER = "this_minus_other"
    COMPLAINT_SIDE = "complaint_side"
    WHEN_INDICATED = "when_indicated"
    ONCE = "once"

    @property
    def is_done_twice(self) -> bool:
        """Whether both knees take their own time."""
        return self in {SideRule.SOUND_SIDE_FIRST, SideRule.TOGETHER}


class TellsOf(StrEnum):
    """What an answer of the history tells of, and so how long it holds.

    ``today``: the trouble as it is now. ``injury``: what happened then, which stays as it was answered.
    ``past``: what stays true once it was answered with yes. ``load``: what led to a trouble and is none.
    """

    TODAY = "today"
    INJURY = "injury"
    PAST = "past"
    LOAD = "load"


class Unit(StrEnum):
    """The units in which a sign can be measured."""

    DEGREES = "deg"
    MILLIMETRES = "mm"
    CENTIMETRES = "cm"
    HOURS = "h"
    MINUTES = "min"
    SECONDS = "s"
    STEPS_PER_MINUTE = "steps/min"
    METRES_PER_SECOND = "m/s"
    PERCENT = "%"
    RATIO = "ratio"
    CELSIUS = "C"
    POINTS = "points"
    KILOGRAMS_PER_SQUARE_METRE = "kg/m2"
    PER_MINUTE = "/min"
    MILLIMETRES_OF_MERCURY = "mmHg"


class Direction(StrEnum):
    """On which side of normal a reading becomes abnormal."""

    ABOVE = "above"
    BELOW = "below"
    EITHER = "either"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contraindication:
    """A state of the patient in which some signs must not be looked for, and why."""

    id: str
    name: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """One posture of the patient; ``seconds`` is the time it takes to get into it."""

    id: str
    name: str
    number: int
    patient: str
    seconds: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One degree of an ordinal scale; ``rank`` 0 is normal, higher is worse."""

    id: str
    words: str
    rank: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A reading with a unit.

    ``low`` and ``high`` bound what is possible, not what is normal: a value beyond them is a slip of the pen.
    ``positive`` tells what a positive value means, empty when readings have no sign.
    """

    unit: Unit
    low: float
    high: float
    abnormal: Direction
    positive: str

    def allows(self, value: float) -> bool:
        """Say whether a reading is possible."""
        return self.low <= value <= self.high


_YES_AND_NO = 2
"""How many levels a sign has that is only there or not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How a sign is recorded: by levels, the first of them normal, by a reading, or by both."""

    levels: tuple[Level, ...]
    measure: Measure | None

    @property
    def is_yes_or_no(self) -> bool:
        """Whether the sign is only there or not, with no degrees between."""
        return len(self.levels) == _YES_AND_NO


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """Something that can be looked for or provoked.

    ``deed`` names what the examiner does, where ``name`` names what is found; ``order`` is its place in the
    whole examination, from 1; ``routine`` signs belong to the examination of every knee, the others are
    done when the picture asks for them. ``technique`` is the question to ask when
    ``kind`` is history. ``knee_flexion_deg`` is the range in which it is done, None when it does not matter.
    ``seconds`` is the time for one side, 0 when it only sums up the signs of ``summary_of``; ``hurts`` says
    how much in an injured knee, from 0 (not) through 1 (uncomfortable) and 2 (painful) to 3 (very painful).
    A ``stress_test`` is one that guarding can hide. ``tells_of`` matters where ``kind`` is history.
    """

    id: str
    name: str
    deed: str
    aliases: tuple[str, ...]
    kind: Kind
    position: str
    order: int
    routine: bool
    sides: Sides
    side_rule: SideRule
    technique: str
    caution: str
    knee_flexion_deg: tuple[float, float] | None
    normal: str
    scale: Scale
    seconds: int
    hurts: int
    avoid_when: tuple[Contraindication, ...]
    structures: tuple[Structure, ...]
    stress_test: bool
    summary_of: tuple[str, ...]
    tells_of: TellsOf
    provenance: str

    @property
    def is_person(self) -> bool:
        """Whether it belongs to the person and not to a side."""
        return self.sides is Sides.PERSON

    @property
    def is_history(self) -> bool:
        """Whether it is asked rather than examined."""
        return self.kind is Kind.HISTORY

    @property
    def is_trouble(self) -> bool:
        """Whether a yes means that something ails the knee, or has just happened to it."""
        return self.is_history and not self.is_person and self.tells_of in {TellsOf.TODAY, TellsOf.INJURY}

    @property
    def is_summary(self) -> bool:
        """Whether it restates other signs, so that it must not be counted beside them."""
        return bool(self.summary_of)

    @property
    def has_measure(self) -> bool:
        """Whether it can be recorded as a reading."""
        return self.scale.measure is not None

    @property
    def seconds_in_all(self) -> int:
        """The time for everything its side rule asks for: both knees, or once."""
        return self.seconds * (2 if self.side_rule.is_done_twice else 1)

    def level(self, level_id: str) -> Level:
        """Return the level called ``level_id``; raise `InputError` when there is none."""
        for level in self.scale.levels:
            if level.id == level_id:
                return level
        allowed = [level.id for level in self.scale.levels]
        remedy = suggestion(level_id, allowed) or "record a reading; it has no levels"
        raise InputError.of(place=self.id, value=level_id, says="is no level of this sign", remedy=remedy)
