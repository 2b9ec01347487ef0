"""A patient for what is due, looked for by another process, which knows no database."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.teach import DueRecipe, Recipe, Scheduled, recipe_for


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What was chosen, with a seed to begin at, and what is due."""

    recipe: Recipe
    due: tuple[Scheduled, ...]


def recipe_due(wish: Wish) -> DueRecipe:
    """Return a recipe whose patient brings up what is due."""
    return recipe_for(wish.recipe, wish.due)
