"""How rare it is at an age to have what a patient has: dice throw it all the same, and a debrief says so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from fabella.infer import Model
from fabella.infer import Setting as Circumstances
from fabella.infer.states import Slot

VERY_RARE = 0.005
"""Share of knees complained of below which a lesion is very rare (judgement: few meet it in training)."""
OUT_OF_AGE = 0.25
"""Share of what it is at its commonest age below which the age makes it rare (judgement)."""
_AGES = tuple(range(5, 91, 5))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rarity:
    """A lesion that is very rare at somebody's age.

    ``chance`` is its share of knees complained of (0..1) at that age, in that setting and as fresh, before
    anything is said of how it came about; ``usual_chance`` the same at ``usual_age_years``, its commonest.
    """

    lesion: str
    level: str
    age_years: float
    chance: float
    usual_age_years: float
    usual_chance: float


def rarest_for_age(model: Model, known: Circumstances, lesions: Iterable[Slot]) -> Rarity | None:
    """Return the one of these lesions that is rarest for the age; None where age makes none very rare."""
    if known.age_years is None:
        return None
    untold = replace(known, mechanism=None)
    here = model.prior_target(untold)
    slots = [model.states.slots.index(each) for each in lesions]
    rare = [slot for slot in slots if here[slot] < VERY_RARE]
    if not rare:
        return None
    by_age = np.array([model.prior_target(replace(untold, age_years=float(age))) for age in _AGES])
    found = [slot for slot in rare if here[slot] < OUT_OF_AGE * by_age[:, slot].max()]
    if not found:
        return None
    slot = min(found, key=lambda each: here[each])
    lesion, level = model.states.slots[slot]
    return Rarity(
        lesion=lesion,
        level=level,
        age_years=known.age_years,
        chance=float(here[slot]),
        usual_age_years=float(_AGES[int(by_age[:, slot].argmax())]),
        usual_chance=float(by_age[:, slot].max()),
    )
