"""When what a story tells of happened, against the time at which the complaint began."""

from __future__ import annotations

import re
from typing import Final

_PAST: Final = re.compile(r"\b(?:old|previous|previously|prior|(?:years?|months?) (?:before|earlier|ago))\b")
STILL: Final = re.compile(r"\b(?:since|still|ever since)\b")
"""What makes an event of the past the beginning of the present."""
_WORDS: Final = "one two three four five six seven eight nine ten eleven twelve".split()  # noqa: SIM905  in a row
_NUMBERS: Final = {word: number for number, word in enumerate(_WORDS, start=1)}
_DAYS: Final = {"day": 1, "week": 7, "month": 30, "year": 365}
_AGO: Final = re.compile(
    rf"\b(?:just |about |almost |nearly |over )*(?P<number>\d+|an?|{'|'.join(_WORDS)}) "
    rf"(?P<unit>{'|'.join(_DAYS)})s? (?:ago|before|earlier|previously)\b"
)
SAME_TIME: Final = 1.35
"""How far two times of the same event are apart: "three months ago" of 67 to 121 days (judgement)."""


def days_ago(clause: str) -> float | None:
    """Return how many days ago a clause of `story` words puts what it tells of, or None when it says not."""
    found = _AGO.search(clause)
    return None if found is None else _days(found)


def is_past(clause: str, onset_days: float | None) -> bool:
    """Say whether a clause tells of a time before the complaint began, ``onset_days`` ago (None: unknown)."""
    began = _AGO.sub(lambda ago: " " if _is_onset(ago, onset_days) else ago[0], clause)
    return bool(_PAST.search(began)) and not STILL.search(clause)


def is_the_onset(words: str, onset_days: float | None) -> bool:
    """Say whether words put what they tell of at the beginning of the complaint, ``onset_days`` ago."""
    found = _AGO.search(words)
    return found is not None and _is_onset(found, onset_days)


def _is_onset(ago: re.Match[str], onset_days: float | None) -> bool:
    return onset_days is not None and onset_days / SAME_TIME <= _days(ago) <= onset_days * SAME_TIME


def _days(ago: re.Match[str]) -> float:
    number = ago["number"]
    many = int(number) if number.isdigit() else _NUMBERS.get(number, 1)
    return float(many * _DAYS[ago["unit"]])
