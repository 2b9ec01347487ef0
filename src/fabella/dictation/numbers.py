"""Numbers as they are said: in digits, in words, run together ("one ten"), with minus and point."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.words import Word

_UNDER_TWENTY = [
    "nought", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
]  # fmt: skip
_UNITS = {name: value for value, name in enumerate(_UNDER_TWENTY)} | {"naught": 0, "zero": 0, "nil": 0}
_NAMES_OF_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_TENS = {name: value * 10 for value, name in enumerate(_NAMES_OF_TENS, start=2)} | {"fourty": 40}
_GRADES = {1, 2, 3}
_TEN = 10
_HUNDRED = 100
_ROMAN = {"i": 1.0, "ii": 2.0, "iii": 3.0, "iv": 4.0}
_ONE_WORDS = ("a", "an")
_LENGTHS = {"centimetre", "centimeter", "cm", "millimetre", "millimeter", "mm", "inch"}
_COMPARED = {
    "more", "less", "bigger", "larger", "thicker", "wider", "thinner", "smaller", "slimmer", "greater",
}  # fmt: skip


def number_at(words: Sequence[Word], place: int) -> tuple[float, int] | None:
    """Return the number that begins at a word, and the place after it, or None.

    "nil" counts only before "to", where it can be nothing but a number.
    """
    word = _text(words, place)
    if word == "nil" and _text(words, place + 1) != "to":
        return None
    if word == "half":
        return 0.5, place + 2 if _text(words, place + 1) in _ONE_WORDS else place + 1
    if words[place].is_number:
        half = _is_and_a_half(words, place + 1)
        return float(word) + 0.5 * half, place + 1 + 3 * half
    if word in _ONE_WORDS and _text(words, place + 1) in _LENGTHS and _text(words, place + 2) in _COMPARED:
        return 1.0, place + 1  # "a centimetre more"
    whole = _whole(words, place)
    if whole is None:
        return None
    value, end = whole
    if _text(words, end) == "point" and (decimal := _digits(words, end + 1)) is not None:
        return value + decimal[0], decimal[1]
    if _is_and_a_half(words, end):
        return value + 0.5, end + 3
    return float(value), end


def _is_and_a_half(words: Sequence[Word], place: int) -> bool:
    return [_text(words, place + step) for step in range(3)] == ["and", "a", "half"]


def signed_number_at(words: Sequence[Word], place: int) -> tuple[float, int] | None:
    """Return the number that begins at a word, with its minus, and the place after it, or None."""
    if _text(words, place) in {"minus", "-"} and place + 1 < len(words):
        found = number_at(words, place + 1)
        return None if found is None else (-found[0], found[1])
    return number_at(words, place)


def roman_at(words: Sequence[Word], place: int) -> tuple[float, int] | None:
    """Return a Roman numeral up to four."""
    value = _ROMAN.get(_text(words, place))
    return None if value is None else (value, place + 1)


def _text(words: Sequence[Word], place: int) -> str:
    return words[place].text if place < len(words) else ""


def _whole(words: Sequence[Word], place: int) -> tuple[int, int] | None:
    if _text(words, place) in _ONE_WORDS:
        return _after_hundred(words, place + 2, 1) if _text(words, place + 1) == "hundred" else None
    if _text(words, place) == "hundred":
        return _after_hundred(words, place + 1, 1)  # "hundred and thirty"
    below = _below_hundred(words, place)
    if below is None:
        return None
    value, end = below
    if value < _TEN and _text(words, end) == "hundred":
        return _after_hundred(words, end + 1, value)
    if value == 1 and end == place + 1 and (rest := _below_hundred(words, end)) and rest[0] >= _TEN:
        return _HUNDRED + rest[0], rest[1]  # "one ten", "one thirty five"
    if value == 1 and (digits := _two_digits(words, end)) is not None:
        return _HUNDRED + digits[0], digits[1]  # "one two five"
    if value == 1 and _text(words, end) == "oh" and (rest := _below_hundred(words, end + 1)):
        return _HUNDRED + rest[0], rest[1]  # "one oh five"
    return value, end


def _two_digits(words: Sequence[Word], place: int) -> tuple[int, int] | None:
    """Return a number under a hundred said digit by digit, or None; only where no third follows."""
    tens, ones = (_UNITS.get(_text(words, place + step), _TEN) for step in range(2))
    after = _UNITS.get(_text(words, place + 2), _TEN)
    return (tens * _TEN + ones, place + 2) if max(tens, ones) < _TEN <= after else None


def _after_hundred(words: Sequence[Word], place: int, hundreds: int) -> tuple[int, int]:
    follows = place + 1 if _text(words, place) == "and" else place
    rest = _below_hundred(words, follows) if follows < len(words) else None
    if rest is None or rest[0] == 0:
        return hundreds * _HUNDRED, place
    return hundreds * _HUNDRED + rest[0], rest[1]


def _below_hundred(words: Sequence[Word], place: int) -> tuple[int, int] | None:
    word = _text(words, place)
    if word in _TENS:
        joined = _text(words, place + 1) == "-" and words[place + 1].glued
        after = place + 2 if joined else place + 1
        unit = _UNITS.get(_text(words, after), 0)
        if not joined and unit in _GRADES and _text(words, after + 1) in {"plus", "+"}:
            return _TENS[word], place + 1  # "at thirty two plus": a bend, and a grade
        return (_TENS[word] + unit, after + 1) if 0 < unit < _TEN else (_TENS[word], place + 1)
    return (_UNITS[word], place + 1) if word in _UNITS else None


def _digits(words: Sequence[Word], place: int) -> tuple[float, int] | None:
    """Return what stands after "point": digits, or one word for each."""
    value, scale, end = 0.0, 0.1, place
    while (digit := _UNITS.get(_text(words, end))) is not None and digit < _TEN:
        value, scale, end = value + digit * scale, scale / 10, end + 1
    return (round(value, 6), end) if end > place else None
