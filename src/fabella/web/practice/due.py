"""What is due for somebody, and the recipe of a patient whom nobody has met."""

from __future__ import annotations

import secrets

from fabella.record import Setting
from fabella.store.school.learner import Learner
from fabella.store.school.remembering import past_runs
from fabella.teach import Recipe, Scheduled, due_on, schedule
from fabella.web.elsewhere import computed
from fabella.web.practice.wished import Wish, recipe_due
from fabella.web.visitor import Request

_SEEDS = 10**9


def due_today(learner: Learner, request: Request) -> tuple[Scheduled, ...]:
    """Return what is due for somebody today, the most urgent first."""
    runs = [(each.begun, each.facts) for each in past_runs(learner).read]
    return due_on(schedule(runs, now=request.now.astimezone()), request.today)


def bringing_up(due: tuple[Scheduled, ...], recipe: Recipe) -> Recipe:
    """Return a recipe like another one, whose patient brings up what is due."""
    return computed(recipe_due, Wish(recipe=recipe, due=due)).recipe


def new_recipe(*, curriculum: str, setting: str) -> Recipe:
    """Return the recipe of a patient whom nobody has met: only curriculum and setting are settled."""
    return Recipe(seed=secrets.randbelow(_SEEDS), curriculum=curriculum, setting=Setting(setting))
