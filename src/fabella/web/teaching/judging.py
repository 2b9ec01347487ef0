"""The difficulty of kept patients: worked out one after the other while a page waits, and kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from fabella.evidence import load_edition
from fabella.store import Actor
from fabella.store.school.sets import KeptPatient, difficulties, keep_difficulty
from fabella.teach import Difficulty, Recipe
from fabella.web.elsewhere import when_computed
from fabella.web.teaching.difficulty import Asked, difficulty_of


def difficulty_when_ready(recipe: Recipe, minutes: float | None) -> Difficulty | None:
    """Return the difficulty of a patient, None while it is being worked out."""
    return when_computed(difficulty_of, Asked(recipe=recipe, minutes=minutes))


def difficulties_when_ready(
    actor: Actor, patients: Sequence[KeptPatient], minutes: float | None, *, now: datetime
) -> Mapping[int, Difficulty]:
    """Return the difficulties that are known; each call works out, and keeps, one more at most."""
    edition = load_edition().id
    known = dict(difficulties(actor, [each.id for each in patients], minutes, edition=edition))
    missing = next((each for each in patients if each.id not in known), None)
    if missing is not None:
        found = difficulty_when_ready(missing.recipe, minutes)
        if found is not None:
            keep_difficulty(actor, missing.id, minutes, found, edition=edition, now=now)
            known[missing.id] = found
    return known
