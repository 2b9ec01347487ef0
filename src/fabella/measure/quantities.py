"""What can be read off the landmarks of a limb: angles and a distance, each with its sense and range."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from fabella.measure.points import Arm, Laid


class Sense(StrEnum):
    """Which turn of one arm from another counts as positive."""

    EITHER = "either"  # only how far, as for a knee that is plainly bent
    BENDING = "bending"  # the shin goes back; beyond straight is negative
    STRAIGHTENING = "straightening"  # beyond straight; what is missing to straight is negative
    OUTWARDS = "outwards"  # away from the midline of the body


FOOT: Arm = ("malleolus", "toes")
"""The arm that tells which way a limb seen from the side faces."""


class Formula(Protocol):
    """How a value follows from landmarks."""

    def of(self, laid: Laid) -> float:
        """Return the value in the unit of its quantity, lengths in square pixels."""


@dataclass(frozen=True, slots=True)
class Turn:
    """The angle by which the second arm turns from the first."""

    first: Arm
    second: Arm
    sense: Sense

    def of(self, laid: Laid) -> float:
        """Return the angle in degrees."""
        turn = laid.turn_deg(self.first, self.second)
        if self.sense is Sense.EITHER:
            return abs(turn)
        if self.sense is Sense.OUTWARDS:
            return turn * laid.outwards
        forwards = 1 if laid.turn_deg(self.second, FOOT) > 0 else -1
        return turn * (forwards if self.sense is Sense.STRAIGHTENING else -forwards)


@dataclass(frozen=True, slots=True)
class Passing:
    """How far outwards a line passes by a landmark."""

    line: Arm
    landmark: str

    def of(self, laid: Laid) -> float:
        """Return the distance in square pixels; a line that passes on the inner side is negative."""
        return -laid.offset(self.landmark, self.line) * laid.outwards


@dataclass(frozen=True, slots=True)
class ArithmeticHka:
    """The hip-knee-ankle angle that the bones alone would give, as :func:`arithmetic_hka_deg`."""

    mpta: Turn
    ldfa: Turn

    def of(self, laid: Laid) -> float:
        """Return the angle in degrees."""
        return self.mpta.of(laid) - self.ldfa.of(laid)


@dataclass(frozen=True, slots=True)
class JointLineObliquity:
    """The sum of both joint angles, as :func:`joint_line_obliquity_deg`."""

    mpta: Turn
    ldfa: Turn

    def of(self, laid: Laid) -> float:
        """Return the angle in degrees."""
        return self.mpta.of(laid) + self.ldfa.of(laid)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """Something a view gives.

    Parameters
    ----------
    id, name
        Short name for programs, and the term of the trade.
    signs
        The signs of the protocol it may be entered as, the usual one first; empty for none.
    unit
        ``deg`` or ``mm``; millimetres only come of a picture with a scale.
    positive
        What a value above zero means, in words.
    low, high
        The values that a limb can have; for a sign they lie within its range in the protocol.
    formula
        How it follows from the landmarks.
    method_error
        Standard error of taking the picture anew, in ``unit``.
    source
        Where ``method_error`` comes from, beginning with ``published``, ``derived`` or ``judgement``.
    """

    id: str
    name: str
    signs: tuple[str, ...] = ()
    unit: str = "deg"
    positive: str
    low: float
    high: float
    formula: Formula
    method_error: float
    source: str
