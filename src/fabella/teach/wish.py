"""A seed for a wish: a teacher names lesions, and gets a recipe whose dice bring them up.

The recipe holds a seed and the circumstances only: whoever reads it learns nothing without drawing the
patient.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from fabella.anatomy import Lesion, load_lesions
from fabella.errors import InputError, Problem
from fabella.evidence.knowledge import load_knowledge
from fabella.infer import Model, load_model
from fabella.infer.states import Slot
from fabella.record import NO_INJURY, Mechanism
from fabella.teach.dice import MAX_SEED, Dice
from fabella.teach.injuries import needs_injury
from fabella.teach.patient import state_chances
from fabella.teach.person import draw_person, mechanism_chances
from fabella.teach.recipe import Recipe

MOST_TRIES = 1_000_000
"""Seeds tried for one wish; states rarer than about one in 100,000 may not come up."""
_RARE = 3e-6


def practice_lesions() -> tuple[Lesion, ...]:
    """Return every lesion that a practice patient can have: their knees are native."""
    of_prostheses = load_knowledge().of_prostheses
    return tuple(each for each in load_lesions().values() if each.id not in of_prostheses)


def recipe_with(recipe: Recipe, lesions: Sequence[Slot], *, alone: bool = False) -> Recipe:
    """Return a recipe like this one whose patient has lesions.

    Parameters
    ----------
    recipe
        The circumstances; what it leaves open is settled first, the mechanism as the lesions bring it about.
        Its seed is where the search begins.
    lesions
        (lesion, level or "" for any) pairs that the knee complained of has; what else it has is drawn.
    alone
        Whether that knee has nothing else: without ``lesions`` it is complained of and has none.

    Raises
    ------
    InputError
        When a lesion is unknown or one of prostheses, or nobody in these circumstances can have them
        together.
    """
    model = load_model()
    model.lesions.check(lesions, place="lesion")
    if foreign := [lesion for lesion, _ in lesions if lesion in model.knowledge.of_prostheses]:
        says, remedy = "is a lesion of prostheses", "choose another: practice patients have native knees"
        raise InputError(Problem(place="lesion", value=each, says=says, remedy=remedy) for each in foreign)
    settled = _settled(model, recipe, lesions)
    person = draw_person(model, settled, Dice(settled.seed))
    chances = state_chances(model, settled, person)
    wanted = np.ones(len(chances), dtype=bool)
    for lesion, level in lesions:
        wanted &= model.states.having(lesion, level)
    if alone:
        wanted &= (model.states.members < len(model.states.slots)).sum(axis=1) == len(lesions)
    if chances[wanted].sum() < _RARE:
        if not lesions:
            says, remedy = "has no knee without a lesion", "choose another one, or name a lesion"
            raise InputError.of(place="curriculum", value=recipe.curriculum, says=says, remedy=remedy)
        what = " + ".join(f"{lesion}:{level}" if level else lesion for lesion, level in lesions)
        says = "cannot be in one knee in these circumstances, or hardly ever"
        remedy = "choose another age, mechanism or curriculum, or leave one out"
        raise InputError.of(place="lesion", value=what, says=says, remedy=remedy)
    edges = np.cumsum(chances)
    for step in range(MOST_TRIES):
        seed = (settled.seed + step) % (MAX_SEED + 1)
        at = Dice(seed).fraction("state", "complaint")
        if wanted[min(int(np.searchsorted(edges, at * edges[-1], side="right")), len(chances) - 1)]:
            return replace(settled, seed=seed)
    raise InputError.of(place="lesion", says=f"did not come up in {MOST_TRIES} tries", remedy="try again")


def _settled(model: Model, recipe: Recipe, lesions: Sequence[Slot]) -> Recipe:
    """Return the recipe with every circumstance written out: those it leaves open fit the lesions."""
    age = recipe.age_years
    if age is None:
        low = max([4, *(model.lesions[lesion].ages_years[0] for lesion, _ in lesions)])
        high = min([85, *(model.lesions[lesion].ages_years[1] for lesion, _ in lesions)])
        drawn = int(draw_person(model, recipe, Dice(recipe.seed)).patient.age_years or 0)
        age = min(max(drawn, low), high)
    person = draw_person(model, replace(recipe, age_years=age), Dice(recipe.seed))
    context = person.context
    mechanism = recipe.mechanism
    if mechanism is None:
        usual = mechanism_chances(model, replace(person.circumstances, mechanism=None))
        chances = _mechanisms(model, usual, lesions, person.patient.age_years)
        mechanism = tuple(chances)[Dice(recipe.seed).pick(tuple(chances.values()), "mechanism")]
    return replace(
        recipe,
        age_years=age,
        sex=person.patient.sex,
        acuity=context.acuity,
        mechanism=mechanism,
        side=person.side,
    )


def _mechanisms(
    model: Model, usual: Mapping[Mechanism, float], lesions: Sequence[Slot], age_years: float | None
) -> dict[Mechanism, float]:
    """Return how often each mechanism brings lesions about, up to a factor.

    As the tables of the lesions have it, which already count how common a mechanism is: of several lesions
    it is counted once, as if each told of the mechanism by itself.
    """
    needs = needs_injury(model)
    chances = dict(usual)
    for lesion, level in lesions:
        row = model.knowledge.mechanisms_of(lesion, level, age_years)
        hurt = all(needs[i] for i, slot in enumerate(model.states.slots) if _is(slot, lesion, level))
        chances = {
            each: chance * row[each.value] / usual[each]
            for each, chance in chances.items()
            if usual[each] and not (hurt and each in NO_INJURY)
        }
    return chances


def _is(slot: Slot, lesion: str, level: str) -> bool:
    return slot[0] == lesion and level in ("", slot[1])
