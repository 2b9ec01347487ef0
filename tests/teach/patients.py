"""Practice patients that several tests share."""

from __future__ import annotations

from functools import cache

from fabella.record import Setting
from fabella.teach import Hidden, Reasoner, Recipe, draw_patient, recipe_with


@cache
def patient(seed: int, *, setting: Setting = Setting.EMERGENCY, curriculum: str = "as_they_come") -> Hidden:
    """Return the patient of a seed."""
    return draw_patient(Recipe(seed=seed, setting=setting, curriculum=curriculum))


@cache
def patient_with(lesion: str, level: str = "", *, seed: int = 5, age_years: int | None = None) -> Hidden:
    """Return a patient of the emergency department with a lesion."""
    recipe = Recipe(seed=seed, setting=Setting.EMERGENCY, age_years=age_years)
    return draw_patient(recipe_with(recipe, [(lesion, level)]))


@cache
def reasoner() -> Reasoner:
    """Return the packaged model with its evidence."""
    return Reasoner()
