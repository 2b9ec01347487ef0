"""A patient for what is due: seeds are tried until one shows it, so that the recipe holds no answer.

Whoever knows that a sign is due must not know how it will show: each is wanted on most patients, not on all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fabella.errors import InputError
from fabella.protocol import Protocol, load_protocol
from fabella.teach.dice import MAX_SEED, Dice
from fabella.teach.facts import ALERT, HARMLESS
from fabella.teach.hidden import Hidden
from fabella.teach.left_out import pressing_alarms
from fabella.teach.patient import draw_patient
from fabella.teach.recipe import Recipe
from fabella.teach.repetition import ItemKind, Scheduled, by_weight
from fabella.teach.unchecked import must_be_checked

MOST_TRIES = 40
"""Patients drawn for one wish, each in some hundredths of a second."""
ENOUGH = 5
"""Due items that a patient brings up with which the search is content; the rest stay due."""
MOST_WANTED = 10
"""Due items that are looked for, those that matter most: with dozens any patient would do (judgement)."""
SHOWS = 0.75
"""Share of the patients on which a due sign is wanted to show (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DueRecipe:
    """A recipe, how many items were looked for, and how many of them its patient brings up."""

    recipe: Recipe
    wanted: int
    brought: int


def recipe_for(recipe: Recipe, due: Sequence[Scheduled]) -> DueRecipe:
    """Return a recipe like this one whose patient brings up what is due, or as much of it as was found.

    Parameters
    ----------
    recipe
        The circumstances, and the seed at which the search begins.
    due
        What is due; habits that any patient asks for need no search.

    Raises
    ------
    InputError
        When nobody in these circumstances can have what the curriculum asks for.
    """
    protocol, dice = load_protocol(), Dice(recipe.seed)
    wanted = by_weight(each for each in due if _needs_a_patient(each))[:MOST_WANTED]
    wanted = tuple(each for each in wanted if dice.happens(SHOWS, "wanted", each.item.kind, each.item.about))
    best: DueRecipe | None = None
    for step in range(MOST_TRIES if wanted else 1):
        tried = replace(recipe, seed=(recipe.seed + step) % (MAX_SEED + 1))
        try:
            hidden = draw_patient(tried)
        except InputError:  # this seed's age and mechanism fit nothing; the next one's may
            continue
        brought = sum(_brings_up(hidden, each, protocol) for each in wanted)
        if best is None or brought > best.brought:
            best = DueRecipe(recipe=tried, wanted=len(wanted), brought=brought)
        if best.brought >= min(ENOUGH, len(wanted)):
            break
    if best is None:
        draw_patient(recipe)  # says what is wrong
        return DueRecipe(recipe=recipe, wanted=len(wanted), brought=0)
    return best


def _needs_a_patient(due: Scheduled) -> bool:
    return due.item.kind is not ItemKind.KEEP or due.item.about in (ALERT, HARMLESS)


def _brings_up(hidden: Hidden, due: Scheduled, protocol: Protocol) -> bool:
    """Say whether a patient brings an item up."""
    about, side = due.item.about, hidden.person.side
    match due.item.kind:
        case ItemKind.KEEP if about == ALERT:
            return bool(must_be_checked(hidden) or pressing_alarms(hidden, protocol=protocol))
        case ItemKind.KEEP:
            return bool(hidden.complaint.forbidden)
    if about in hidden.answers:
        return hidden.answers[about] not in (None, False)
    outcome = hidden.outcomes.get((about, side), hidden.outcomes.get((about, None)))
    return outcome is not None and (outcome.level > 0) is not due.sound
