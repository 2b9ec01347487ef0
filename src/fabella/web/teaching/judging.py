"""How difficult patients are: worked out in another process, one after the other, while the page waits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache

from fabella.evidence import load_edition
from fabella.store import Actor
from fabella.store.school.sets import KeptPatient, difficulties, keep_difficulty
from fabella.teach import Difficulty, Reasoner, Recipe, Terms, measure_difficulty
from fabella.web.concluding import when_computed
from fabella.web.practice.playing import drawn

MINUTES: tuple[tuple[str, str], ...] = (
    ("5", "5 minutes"),
    ("8", "8 minutes"),
    ("10", "10 minutes"),
    ("", "no clock"),
)
"""Lengths of a station: value and words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A patient, and the minutes of the station (None: no clock)."""

    recipe: Recipe
    minutes: float | None


def difficulty_when_ready(recipe: Recipe, minutes: float | None) -> Difficulty | None:
    """Return the difficulty of a patient, None while it is being worked out."""
    return when_computed(_judged, Asked(recipe=recipe, minutes=minutes))


def difficulties_when_ready(
    actor: Actor, patients: Sequence[KeptPatient], minutes: float | None, *, now: datetime
) -> Mapping[int, Difficulty]:
    """Return the difficulties that are known; each call works out, and keeps, one more at most."""
    edition = load_edition().id
    known = dict(difficulties(actor, [each.id for each in patients], minutes, edition=edition))
    for patient in patients:
        if patient.id not in known:
            found = difficulty_when_ready(patient.recipe, minutes)
            if found is not None:
                keep_difficulty(actor, patient.id, minutes, found, edition=edition, now=now)
                known[patient.id] = found
            break
    return known


def minutes_in(text: str) -> tuple[str, float | None]:
    """Return the minutes that an address or a form names, as value and number; 8 for anything else."""
    value = text if text in {each for each, _ in MINUTES} else "8"
    return value, float(value) if value else None


def difficulty_words(found: Difficulty) -> str:
    """Return a difficulty: ``fair: an ideal examiner is 62% sure, after 7 minutes``."""
    minutes = round(found.seconds / 60)
    after = f"after {minutes} minute{'' if minutes == 1 else 's'}" if minutes else "at once"
    return f"{found.word}: an ideal examiner is {found.sureness:.0%} sure, {after}"


@cache
def _reasoner() -> Reasoner:
    return Reasoner()


def _judged(asked: Asked) -> Difficulty:
    return measure_difficulty(drawn(asked.recipe), Terms(minutes=asked.minutes), _reasoner())
