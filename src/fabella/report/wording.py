"""How numbers, dates, grades and lists are written: British, dry and short."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from fabella.anatomy import other
from fabella.report.phrases import load_phrases, said_present
from fabella.report.readings import Outcome, Reading

NO_BREAK = "\u00a0"
"""A space at which no line may break."""

_PERCENT = re.compile(r" %(?<=\d %)")
_TIGHT_UNITS = {"deg": "°", "%": "%"}
_SPOKEN_UNITS = {
    "C": "°C",
    "ratio": "",
    "points": "points",
    "min": "minutes",
    "h": "hours",
    "kg/m2": "kg/m²",
    "/min": "a minute",
}
_COUNTED = frozenset({"points", "minutes", "hours"})
"""Units that are words, and have a singular."""


def figure(value: float) -> str:
    """Return a number as it is dictated: no idle decimals, a true minus sign."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return text.replace("-", "−") if text != "-0" else "0"


def quantity(value: float, unit: str) -> str:
    """Return a number with its unit, which never part at the end of a line: ``8 mm``, ``135°``."""
    return with_unit(figure(value), unit)


def with_unit(number: str, unit: str) -> str:
    """Return the same of a number whose digits are chosen already."""
    if unit in _TIGHT_UNITS:
        return f"{number}{_TIGHT_UNITS[unit]}"
    spoken = _SPOKEN_UNITS.get(unit, unit)
    one = number == "1" and spoken in _COUNTED
    return f"{number}{NO_BREAK}{spoken.removesuffix('s') if one else spoken}".rstrip(NO_BREAK)


def unbroken(text: str) -> str:
    """Return a text in which no number parts from its per cent sign at the end of a line."""
    return _PERCENT.sub(f"{NO_BREAK}%", text)


def written_date(day: date) -> str:
    """Return a date as it is written in a British letter: ``3 February 2026``."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def short_date(day: date) -> str:
    """Return a date for a narrow place: ``3 Feb 2026``."""
    return f"{day.day} {_MONTHS[day.month - 1][:3]} {day.year}"


_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December")  # fmt: skip


def listed(parts: Sequence[str], *, last: str = "and") -> str:
    """Return parts as a list in prose: ``a``, ``a and b``, ``a, b and c``."""
    if len(parts) <= 1:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {last} {parts[-1]}"


def counted(number: int, noun: str) -> str:
    """Return a number of things: ``1 station``, ``2 stations``."""
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def sentence(text: str) -> str:
    """Return a text with a capital first letter and a full stop."""
    text = text.strip()
    if not text:
        return ""
    ended = text.rstrip("”").endswith((".", "?", "!"))
    return text[0].upper() + text[1:] + ("" if ended else ".")


def lowered(name: str) -> str:
    """Return a name for the middle of a sentence; a person's name or an abbreviation keeps its capital."""
    first = name.split(" ", maxsplit=1)[0].rstrip(",")
    keeps = first in _EPONYMS or not first[1:].replace("-", "").islower()
    return name if keeps else name[0].lower() + name[1:]


_EPONYMS = frozenset(
    (
        "Lachman",
        "McMurray",
        "Thessaly",
        "Apley",
        "Ege",
        "Clarke",
        "Hoffa",
        "Noble",
        "Ober",
        "Steinmann",
        "Payr",
        "Wilson",
        "Trendelenburg",
        "Beighton",
        "Tinel",
        "Segond",
        "Gerdy",
    )
)


def degree(reading: Reading) -> str:
    """Return grade and measurement of a reading, such as ``2+, 8 mm``; empty for a plain yes or no."""
    parts = []
    if reading.grade and reading.levels > YES_OR_NO:
        parts.append(reading.grade)
    if reading.value is not None:
        parts.append(measured(reading))
    if _is_ungraded(reading) and not is_there(reading):
        return "abnormal, grade not given"
    return ", ".join(parts)


def _is_ungraded(reading: Reading) -> bool:
    bare = not reading.grade and reading.value is None
    return bare and reading.levels > YES_OR_NO and reading.outcome is Outcome.ABNORMAL


def is_there(reading: Reading) -> str:
    """Return the noun by which an abnormal sign that nobody graded is told, ``limp``; empty without one."""
    return said_present(reading.sign) if _is_ungraded(reading) else ""


YES_OR_NO = 2
"""A scale of two levels needs no grade in words."""


def measured(reading: Reading) -> str:
    """Return the measurement of a reading; an angle whose sign has a name is said by that name."""
    return signed(reading.sign, reading.value, reading.unit)


def signed(sign: str, value: float | None, unit: str) -> str:
    """Return a value of a sign with its unit, or a dash when there is none."""
    if value is None:
        return "–"
    words = _SIGNED.get(sign)
    if words is None or value == 0:
        return quantity(value, unit)
    return f"{quantity(abs(value), unit)} {words[0] if value > 0 else words[1]}"


def ways(sign: str) -> tuple[str, str] | None:
    """Return what more than 0 and less than 0 of a sign are called; None where they have no name."""
    return _SIGNED.get(sign)


_SIGNED = {
    "tibiofemoral_angle": ("valgus", "varus"),
    "passive_extension": ("hyperextension", "short of straight"),
    "foot_progression_angle": ("outwards", "inwards"),
    "thigh_foot_angle": ("outwards", "inwards"),
    "leg_length_difference": ("longer", "shorter"),
}


def compared(reading: Reading) -> str:
    """Return how a measurement compares, such as ``left 3 mm, beyond measurement error``."""
    if reading.value is None or reading.other_value is None or reading.side is None:
        return ""
    words = f"{other(reading.side)} {signed(reading.sign, reading.other_value, reading.unit)}"
    if reading.beyond_error is None:
        return words
    return f"{words}, {'beyond' if reading.beyond_error else 'within'} measurement error"


def named(reading: Reading) -> str:
    """Return what a sign is called when it is abnormal, such as ``McMurray positive medially``."""
    return is_there(reading) or load_phrases().abnormal.get(reading.sign, lowered(reading.name))


def described(reading: Reading, *, beside: bool = True) -> str:
    """Return one reading, such as ``Lachman 2+, 8 mm (left 3 mm, beyond measurement error)``.

    ``beside`` adds how a measurement compares with the other side.
    """
    if reading.outcome is Outcome.NOT_EXAMINED:
        return f"{lowered(reading.name)} not examined"
    if reading.outcome is Outcome.COULD_NOT_BE_TESTED:
        return lowered(reading.name) + (f" ({reading.why})" if reading.why else "")
    name = named(reading) if reading.outcome is Outcome.ABNORMAL else lowered(reading.name)
    how = degree(reading)
    text = f"{name}{'' if not how else ' ' if how[0] in '−0123456789' else ', '}{how}"
    if beside and (words := compared(reading)):
        text = f"{text} ({words})"
    return f"{text} [{reading.note.removesuffix('.')}]" if reading.note else text
