"""To whom a patient's page speaks: to the patient, or about a small child to the parents."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

from fabella.packaged import packaged_table
from fabella.record import Patient

READS_FROM_YEARS = 12
"""The reading age of the page: from here on it speaks to the patient, about younger ones to the parents."""

_YOURS = re.compile(r"\b([Yy])our\b(?! (?:child|answers|surgeons)\b)")


def speaks_to_parents(patient: Patient) -> bool:
    """Say whether the page speaks to the parents: the age is known and below the reading age of the page."""
    return patient.age_years is not None and patient.age_years < READS_FROM_YEARS


def to_parents(text: str) -> str:
    """Return what a page says to a patient as it is said to the parents of a small one."""
    turns = _turns()
    said = _phrases().sub(lambda found: _cased(turns[found[0].lower()], like=found[0]), text)
    return _YOURS.sub(r"\1our child's", said)


def to_patient(text: str) -> str:
    """Return what a page says as it stands: to the patient."""
    return text


def voice(*, parents: bool) -> Callable[[str], str]:
    """Return how each sentence of a page is said."""
    return to_parents if parents else to_patient


def _cased(words: str, *, like: str) -> str:
    return words[0].upper() + words[1:] if like[0].isupper() else words


@cache
def _phrases() -> re.Pattern[str]:
    longest_first = sorted(_turns(), key=len, reverse=True)
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, longest_first))})\b", re.IGNORECASE)


@cache
def _turns() -> dict[str, str]:
    return {phrase.lower(): said for phrase, said in packaged_table("report/for_parents.toml")["say"].items()}
