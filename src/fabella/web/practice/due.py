"""What is due for somebody, and a patient for it, looked for away from the server's threads."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.store.school.remembering import past_runs
from fabella.teach import DueRecipe, Recipe, Scheduled, due_on, recipe_for, schedule
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What was chosen, with a seed to begin at, and what is due."""

    recipe: Recipe
    due: tuple[Scheduled, ...]


def due_today(request: Request) -> tuple[Scheduled, ...]:
    """Return what is due for the person at the door, the most urgent first."""
    runs = [(each.begun, each.facts) for each in past_runs(request.person)]
    return due_on(schedule(runs, now=request.now), request.today)


def recipe_due(wish: Wish) -> DueRecipe:
    """Return a recipe whose patient brings up what is due."""
    return recipe_for(wish.recipe, wish.due)
