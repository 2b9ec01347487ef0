"""A kept run played again: the patient is drawn anew from the recipe, which stays on the server."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from fabella.protocol import load_protocol
from fabella.teach import Encounter, Event, Hidden, Recipe, Terms, draw_patient, replay

_KEPT = 256
"""Patients remembered, so that a touch does not draw its patient again."""


@lru_cache(maxsize=_KEPT)
def drawn(recipe: Recipe) -> Hidden:
    """Return the patient of a recipe, for the server's own use."""
    return draw_patient(recipe)


def played(recipe: Recipe, terms: Terms, events: Iterable[Event]) -> Encounter:
    """Return the encounter that these events amount to; only its ``run`` may be shown before the end."""
    return replay(drawn(recipe), terms, events, protocol=load_protocol())
