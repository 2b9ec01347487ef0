"""Numbers in the values of published cases: degrees of movement, millimetres, temperature and the like."""

from __future__ import annotations

import re
from dataclasses import dataclass

_NUMBER = r"\d+(?:\.\d+)?"
_DEG = r"(?: ?(?:deg(?:rees?)?))?"
_TRIPLE = re.compile(rf"(?<![\d.])({_NUMBER}){_DEG} ?[-/] ?({_NUMBER}){_DEG} ?[-/] ?({_NUMBER})")
_WAY = r"(?:,? (?:of )?(?:hyperextension|recurvatum|extension|flexion))?"
_PAIR = re.compile(
    rf"(?<![\d.])(?P<low>[-+]?{_NUMBER}){_DEG}{_WAY} ?(?:-|/|to|through|until) ?(?P<high>{_NUMBER})"
)
_FROM_STRAIGHT = re.compile(rf"\b(?:full|normal) extension,? (?:to|until|through) (?P<high>{_NUMBER})")
_PART = re.compile(  # of a range, and not the range: "the last 10 to 15 deg", "10-15 deg short of full"
    rf"\b(?:last|final|terminal|first) {_NUMBER}"
    rf"|{_NUMBER}{_DEG} (?:of )?(?:short|less|lost|loss|lacking|deficit|missing|difference)\b"
)
_COMPARED = re.compile(r"(?<![\d.])(?:[6-9]\d|1\d\d)(?: ?deg)? ?/ ?\d")  # this knee's bend / the other's
_SINGLE = re.compile(rf"(?<![\d.])(?P<number>[-+]?{_NUMBER})")
_SHORT = re.compile(
    r"\b(?:lack\w*|short\w*|lag\w*|loss|loses|deficit|limit\w*|missing|less|minus|reduced|contracture|restrict\w*"
    r"|fixed|block\w*|to|fails?|incomplete|from full|decreas\w*|flexed|flexion)\b"
)
_SHORT_NOTE = re.compile(
    r"\b(?:lack\w*|shortfall|short of|deficit|contracture|fixed flexion|limit\w*|block\w*)\b"
)
_HYPER = re.compile(r"\b(?:hyper\w*|recurvat\w*)\b")
_BELOW = re.compile(rf"(?:<|\b(?:less than|under|below)) ?({_NUMBER})")
_ABOVE = re.compile(rf"(?:>|\b(?:more than|over|above|greater than|beyond|at least)) ?({_NUMBER})")
_LOST = re.compile(
    rf"{_NUMBER}{_DEG} (?:of )?(?:loss|less|short|deficit|lost|difference|reduction|lacking)"
    rf"|\b(?:lacks?|loss of|lost|deficit of|by) {_NUMBER}|%"
)
_BEYOND_ANY_KNEE_DEG = (
    15.0  # judgement: an unsigned "extension 20 degrees" is a knee 20 degrees short of straight
)
_FAHRENHEIT_FROM = 45.0  # no living body is so warm in degrees Celsius
_FLAT_KNEE_DEG = 5.0  # judgement: a knee held within this is straight


@dataclass(frozen=True, slots=True)
class Range:
    """A range of movement in degrees: extension (hyperextension positive) and flexion."""

    extension_deg: float | None = None
    flexion_deg: float | None = None


def first_number(text: str) -> float | None:
    """Return the first number of a text, with its sign."""
    found = _SINGLE.search(text)
    return float(found["number"]) if found else None


def with_unit(text: str, unit: str) -> float | None:
    """Return the number before a unit, the middle of a range such as "5-10 mm", or None."""
    found = re.search(rf"(?:({_NUMBER}) ?(?:-|to) ?)?({_NUMBER}) ?(?:{unit})\b", text)
    if found is None:
        return None
    high = float(found[2])
    return high if found[1] is None else (float(found[1]) + high) / 2


def bound(text: str) -> tuple[str, float] | None:
    """Return ("below" | "above", number) for "< 5 mm" or "more than 10 deg", or None."""
    if found := _BELOW.search(text):
        return "below", float(found[1])
    if found := _ABOVE.search(text):
        return "above", float(found[1])
    return None


def range_deg(text: str) -> Range | None:
    """Return a range written "30-110", "0 to 135 deg", "5-0-140" (neutral zero) or "-5 to 130", or None.

    The first of two numbers is the bend from which the knee starts, so that a positive one falls short of
    straight; a negative one, or the word hyperextension, goes beyond it.
    """
    if _PART.search(text):
        return None
    if found := _TRIPLE.search(text):
        first, middle, last = map(float, found.groups())
        if middle == 0:
            return Range(first, last)
        if first == 0:
            return Range(-middle, last)
    if found := _FROM_STRAIGHT.search(text):
        return Range(0.0, float(found["high"]))
    found = _PAIR.search(text)
    if found is None:
        return None
    low, high = float(found["low"]), float(found["high"])
    if _HYPER.search(text):
        return Range(abs(low), high)
    return None if high < abs(low) else Range(0.0 - low, high)


def flexion_deg(text: str) -> float | None:
    """Return how far a knee bends, or None when the text gives no such number."""
    if (
        _LOST.search(text)
        or _PART.search(text)
        or ((limit := bound(text)) is not None and limit[0] == "below")
    ):
        return None
    if (both := range_deg(text)) and not _COMPARED.search(text):
        return both.flexion_deg
    number = first_number(text)
    return None if number is None else abs(number)


def extension_deg(text: str, note: str) -> float | None:
    """Return how far a knee straightens: hyperextension positive, a shortfall negative, or None.

    A number without a sign is a shortfall when the words say so, or when no knee goes so far back.
    """
    number = first_number(text)
    if number is None or "%" in text:
        return None
    if _HYPER.search(text):
        return abs(number)
    if number < 0 or _SHORT.search(text):
        return 0.0 - abs(number)
    if text.lstrip().startswith("+") or _HYPER.search(note):
        return number
    return 0.0 - number if _SHORT_NOTE.search(note) or number > _BEYOND_ANY_KNEE_DEG else number


def deficit_deg(text: str) -> float | None:
    """Return by how much a knee falls short of straight; of "5-10 deg" the middle."""
    if "%" in text:
        return None
    spread = _PAIR.search(text)
    if spread is not None:
        return (abs(float(spread["low"])) + float(spread["high"])) / 2
    number = first_number(text)
    return None if number is None else abs(number)


def held_bent(text: str) -> bool | None:
    """Say whether a number of degrees means a bent position; None without a number."""
    number = first_number(text)
    return None if number is None else abs(number) > _FLAT_KNEE_DEG


def celsius(text: str) -> float | None:
    """Return a body temperature in degrees Celsius, also from Fahrenheit, or None."""
    number = first_number(text)
    if number is None:
        return None
    return round((number - 32) * 5 / 9, 1) if number > _FAHRENHEIT_FROM else number
