"""How difficult a patient is: what is asked, what another process makes of it, and its words."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from fabella.teach import Difficulty, Reasoner, Recipe, Terms, measure_difficulty
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


def difficulty_of(asked: Asked) -> Difficulty:
    """Return how difficult a patient is, after about a second."""
    return measure_difficulty(drawn(asked.recipe), Terms(minutes=asked.minutes), _reasoner())


def minutes_in(text: str) -> tuple[str, float | None]:
    """Return the minutes that an address or a form names, as value and number; 8 for anything else."""
    value = text if text in {each for each, _ in MINUTES} else "8"
    return value, float(value) if value else None


def difficulty_words(found: Difficulty) -> str:
    """Return a difficulty: ``fair: an ideal examiner ends 62% sure of what is there``."""
    return f"{found.word}: an ideal examiner ends {found.sureness:.0%} sure of what is there"


@cache
def _reasoner() -> Reasoner:
    return Reasoner()
