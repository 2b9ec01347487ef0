"""One finding of a published case as its reader sees it, and what it becomes or why it becomes nothing."""

from __future__ import annotations

import re
from dataclasses import dataclass

from fabella.audit.motion import first_number
from fabella.audit.values import Reading, read_words
from fabella.protocol import Protocol, Sign, Unit

_IN_UNIT = {
    Unit.MILLIMETRES: {"cm": 10.0, "mm": 1.0},
    Unit.CENTIMETRES: {"cm": 1.0, "mm": 0.1},
    Unit.MINUTES: {"min": 1.0, "minute": 1.0, "minutes": 1.0, "h": 60.0, "hour": 60.0, "hours": 60.0},
    Unit.HOURS: {
        "h": 1.0,
        "hour": 1.0,
        "hours": 1.0,
        "min": 1 / 60,
        "minutes": 1 / 60,
        "day": 24.0,
        "days": 24.0,
    },
}
NEGATED = re.compile(r"\b(?:no|not|without|never|denie[sd]|nor|non|rather than)(?: \w+){0,3} $")
"""What stands before a word that is denied."""
_CONDITION = re.compile(
    r"\b(?:at|in|with) \d+(?: ?(?:-|and|to|/) ?\d+)? ?(?:deg(?:rees?)?)?(?: of)?(?: knee)?(?: flexion)?\b"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """A finding's name, value and note in `plain` words.

    ``good`` tells that the name speaks of health, ``level`` what a plain positive means; ``fresh`` an
    injury of the last days, ``lump`` a patient with a lump; ``sided`` that the finding belongs to a knee.
    """

    name: str
    value: str
    note: str
    good: bool = False
    level: str | None = None
    fresh: bool = False
    lump: bool = False
    sided: bool = True
    protocol: Protocol

    @property
    def everything(self) -> str:
        """The value and the note."""
        return f"{self.value}; {self.note}" if self.note else self.value

    @property
    def unconditional(self) -> str:
        """The value without the angle at which the sign was tested."""
        return " ".join(_CONDITION.sub(" ", self.value).split())

    def says(self, pattern: str) -> bool:
        """Say whether the value, alone, holds a regular expression."""
        return re.search(pattern, self.value) is not None

    def mentions(self, pattern: str) -> bool:
        """Say whether the value, the note or the name holds a regular expression."""
        return re.search(pattern, f"{self.everything}; {self.name}") is not None

    def words(self, sign: str, text: str | None = None) -> Reading | None:
        """Return what the words of the value (or of ``text``) say of a sign."""
        said = self.value if text is None else text
        return read_words(said, self.protocol.sign(sign), good=self.good, level=self.level, note=self.note)

    def number(self, sign: str) -> Reading | None:
        """Return the first number of the value in the unit of a sign, or None without a possible one."""
        return measured(self.protocol.sign(sign), self.value)

    def valued(self, sign: str, number: float | None) -> Reading | None:
        """Return a number as a reading of a sign, or None when it is not possible."""
        return value_of(self.protocol.sign(sign), number)


@dataclass(frozen=True, slots=True)
class Draft:
    """What one sign of the protocol receives; ``across`` on the other knee than the finding names."""

    sign: str
    reading: Reading
    across: bool = False


Drafts = tuple[Draft, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A finding or an answer in the words of the case, and why it did not enter."""

    sign: str
    value: str
    why: str


def one(sign: str, reading: Reading | None) -> Drafts:
    """Return one draft, or none when there is no reading."""
    return () if reading is None else (Draft(sign, reading),)


def measured(sign: Sign, text: str) -> Reading | None:
    """Return the first number of a text as a reading of a sign, converted to its unit, or None."""
    measure = sign.scale.measure
    number = first_number(text)
    if measure is None or number is None or "%" in text:
        return None
    unit = re.search(r"\d ?([a-z]+)\b", text)
    factors = _IN_UNIT.get(measure.unit, {})
    return value_of(sign, number * factors.get(unit[1] if unit else "", 1.0))


def value_of(sign: Sign, number: float | None) -> Reading | None:
    """Return a number as a reading of a sign, or None when it is not possible."""
    measure = sign.scale.measure
    if measure is None or number is None or not measure.allows(number):
        return None
    return Reading(value=round(number, 3) + 0.0)
