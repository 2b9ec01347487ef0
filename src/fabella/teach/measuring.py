"""From the level a sign shows to millimetres, degrees and centimetres on both knees.

The published accuracy of a test is that of its readings. So the reading is placed within the band of its
level, and the true value is the reading less a measurement error of published size: the accuracy stays what
is published, and measuring again gives another reading about the same truth.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from fabella.anatomy import Side, other
from fabella.evidence import load_edition
from fabella.grade import norms_for
from fabella.grade.precision import error_of
from fabella.grade.thresholds import Reading, Start, Worse, load_thresholds
from fabella.packaged import packaged_table
from fabella.protocol import Sign
from fabella.record import Patient
from fabella.teach.dice import Dice

_HEEL_CM: Final = 42.0
"""From knee to heel, as in the grading."""
_FULL_BEND_DEG: Final = 140.0
_CLEAR = 0.1  # share of a band kept free at either end, so that rounding does not change the level


@dataclass(frozen=True, slots=True, kw_only=True)
class Usual:
    """A measured sign in sound knees; the fields are explained at the head of ``readings.toml``."""

    normal: float
    spread: float
    sides: float
    open: float
    follows: str = ""


@cache
def usual_readings() -> Mapping[str, Usual]:
    """Read ``readings.toml``."""
    return {sign: Usual(**row) for sign, row in packaged_table("teach/data/readings.toml").items()}


@dataclass(frozen=True, slots=True)
class Measured:
    """A true value, a first reading, and the standard error between them."""

    value: float
    read: float
    sem: float


class Tape:
    """Measures one patient: norms for age and sex, and the dice of both knees."""

    def __init__(self, patient: Patient, dice: Dice) -> None:
        self._dice = dice
        self._norms = norms_for(patient, edition=load_edition())

    def measure(self, sign: Sign, side: Side | None, level: int) -> Measured:
        """Return the value behind a level of a measured sign, and what is read."""
        reading = load_thresholds().readings.get(sign.id)
        usual = usual_readings()[sign.id]
        sound = side if level == 0 or side is None else other(side)  # shifted from what the other knee has
        base = self._base(sign.id, sound, usual, reading)
        read = base if level == 0 else self._shifted(sign.id, side, level, base=base)
        return self.blurred(sign, side, self._possible(sign, read))

    def blurred(self, sign: Sign, side: Side | None, read: float, *, value: float | None = None) -> Measured:
        """Return a reading with the truth behind it, or a truth with a first reading of it."""
        sem = standard_error(sign)
        error = sem * self._dice.normal("error", sign.id, side)
        if value is not None:
            return Measured(self._possible(sign, value), self._possible(sign, value + error), sem)
        return Measured(self._possible(sign, read - error), read, sem)

    def bowed(self, sign: Sign, side: Side, way: int) -> Measured:
        """Return the tibiofemoral angle: usual, or ``way`` levels beyond normal, valgus positive."""
        norm = self._norms.get(sign.id)
        low, high = (norm.low, norm.high) if norm is not None else (None, None)
        low, high = 0.0 if low is None else low, 10.0 if high is None else high
        middle, quarter = (low + high) / 2, (high - low) / 4
        build = self._dice.normal("build", sign.id, most=1.2)
        if way == 0:
            own = self._dice.normal("side", sign.id, side, most=1.0)
            return self.blurred(sign, side, middle + quarter * build + own / 2)
        share = self._dice.between(_CLEAR, 1 - _CLEAR, "band", sign.id, side)
        far = (abs(way) - 1 + share) * 2 * quarter
        return self.blurred(sign, side, high + far if way > 0 else low - far)

    def _base(self, sign: str, side: Side | None, usual: Usual, reading: Reading | None) -> float:
        """Return what this person's sound knee reads."""
        norm = self._norms.get(sign)
        middle = usual.normal
        if norm is not None and norm.mean is not None:
            middle = norm.mean
        value = middle + usual.spread * self._dice.normal("build", sign, most=1.5)
        value += usual.sides * self._dice.normal("side", sign, side, most=1.5)
        return self._held(value, norm_limits=(norm.low, norm.high) if norm else (None, None), reading=reading)

    def _held(
        self, value: float, *, norm_limits: tuple[float | None, float | None], reading: Reading | None
    ) -> float:
        """Keep a sound reading on the sound side of every bound that judges it alone."""
        low, high = norm_limits
        if reading is not None and reading.alone is not None and reading.alone.spread is None:
            bound = reading.alone.starts[0].at
            if reading.worse is Worse.LOWER:
                value = max(value, -bound + abs(bound) * 0.01 + 0.01)
            elif reading.worse is Worse.HIGHER:
                value = min(value, bound - abs(bound) * 0.01 - 0.01)
        if low is not None:
            value = max(value, low)
        return value if high is None else min(value, high)

    def _shifted(self, sign: str, side: Side | None, level: int, *, base: float) -> float:
        """Return a reading within the band of a level, counted from the bounds of the grading."""
        share = self._dice.between(_CLEAR, 1 - _CLEAR, "band", sign, side)
        reading, usual = load_thresholds().readings.get(sign), usual_readings()[sign]
        if reading is None or (reading.side is None and reading.alone is None):
            return self._beyond_norm(sign, side, level - 1 + share, base=base)
        alone = () if reading.alone is None else reading.alone.starts
        starts = alone if reading.side is None else reading.side.starts
        start, end = _band(starts, level, usual.open)
        shift = reading.worse.badness(start + (end - start) * share)
        return shift if reading.side is None else base + shift

    def _beyond_norm(self, sign: str, side: Side | None, far: float, *, base: float) -> float:
        """Return a reading beyond the norm's limit by ``far`` widths; of two ways the dice choose one."""
        reading, usual = load_thresholds().readings.get(sign), usual_readings()[sign]
        norm = self._norms.get(sign)
        up = reading is None or reading.worse is Worse.HIGHER
        if reading is not None and reading.worse is Worse.AWAY:
            up = self._dice.happens(0.5, "way", sign, side)
        limit = None if norm is None else norm.high if up else norm.low
        if limit is None:
            limit = base + (1 if up else -1) * 2 * usual.spread
        return limit + far * usual.open if up else limit - far * usual.open

    def _possible(self, sign: Sign, value: float) -> float:
        measure = sign.scale.measure
        return value if measure is None else min(max(value, measure.low), measure.high)


def _band(starts: tuple[Start, ...], level: int, open_width: float) -> tuple[float, float]:
    start = starts[min(level, len(starts)) - 1].at
    return start, starts[level].at if level < len(starts) else start + open_width


def standard_error(sign: Sign) -> float:
    """Return the standard error of one reading of a sign, in its unit: as the grading takes it, else 0."""
    measure = sign.scale.measure
    if measure is None:
        return 0.0
    return _standard_error(sign.id, measure.unit.value)


@cache
def _standard_error(sign: str, unit: str) -> float:
    reading = load_thresholds().readings.get(sign)
    if reading is None:
        return 0.0
    used = error_of(reading, method=None, unit=unit, edition=load_edition(), thresholds=load_thresholds())
    return 0.0 if used is None or math.isnan(used.sem) else used.sem


def heel_height_cm(shortfall_deg: float, other_deg: float) -> float:
    """Return how much higher this heel lies in prone lying than the other, from both knees' shortfalls."""
    return _HEEL_CM * (math.sin(math.radians(shortfall_deg)) - math.sin(math.radians(other_deg)))


def heel_to_buttock_cm(flexion_deg: float) -> float:
    """Return how far the heel stays from where full bending takes it (140 degrees, two 42 cm segments)."""

    def chord(deg: float) -> float:
        return 2 * _HEEL_CM * math.cos(math.radians(deg) / 2)

    return max(0.0, chord(flexion_deg) - chord(_FULL_BEND_DEG))
