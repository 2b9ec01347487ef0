"""A kept run played again: the patient is drawn anew from the recipe, which stays on the server."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from fabella.protocol import load_protocol
from fabella.store.remembered import Remembered
from fabella.teach import Encounter, Event, Hidden, Recipe, Terms, act, draw_patient, replay

_KEPT = 512
"""Patients and runs remembered, so that a touch neither draws its patient nor plays its run again."""

_Key = tuple[Recipe, Terms, tuple[Event, ...]]
_runs: Remembered[_Key, Encounter] = Remembered(_KEPT)


@lru_cache(maxsize=_KEPT)
def drawn(recipe: Recipe) -> Hidden:
    """Return the patient of a recipe, for the server's own use."""
    return draw_patient(recipe)


def played(recipe: Recipe, terms: Terms, events: Iterable[Event]) -> Encounter:
    """Return the encounter that these events amount to; only its ``run`` may be shown before the end.

    A run that was played up to the event before goes on from there: the same events bring the same run.
    """
    done = tuple(events)
    key = (recipe, terms, done)
    whole, before = _runs.get(key), _runs.take((recipe, terms, done[:-1])) if done else None
    if whole is None and before is not None:
        whole = act(before, done[-1])
    if whole is None:
        whole = replay(drawn(recipe), terms, done, protocol=load_protocol())
    _runs.put(key, whole)
    return whole
