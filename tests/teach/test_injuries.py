"""What needs an injury is never told without one."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from fabella.errors import InputError
from fabella.infer import load_model
from fabella.record import NO_INJURY, Mechanism, Setting
from fabella.teach import Recipe, draw_patient, load_curricula, recipe_with
from fabella.teach.dice import Dice
from fabella.teach.injuries import needs_injury
from fabella.teach.patient import state_chances
from fabella.teach.person import draw_person

TORN = (
    "acl_tear",
    "pcl_tear",
    "mcl_tear",
    "lcl_tear",
    "plc_injury",
    "segond_fracture",
    "tibial_spine_avulsion",
    "knee_dislocation",
    "popliteal_artery_injury",
    "tibial_plateau_fracture",
    "distal_femoral_fracture",
    "patellar_fracture",
    "quadriceps_tendon_rupture",
    "patellar_tendon_rupture",
    "tibial_tubercle_avulsion",
    "soft_tissue_injury",
)
"""Lesions that need an injury at every level (common practice)."""


def test_torn_ligaments_fractures_and_dislocations_need_an_injury() -> None:
    """Every level of what tears or breaks needs one, and a patella just slipped; nothing else does."""
    model = load_model()
    needed = {slot for slot, needs in zip(model.states.slots, needs_injury(model), strict=True) if needs}
    torn = {slot for slot in model.states.slots if slot[0] in TORN}
    assert needed == torn | {("patellar_instability", "acute_dislocation")}


@pytest.mark.parametrize("curriculum", load_curricula())
@pytest.mark.parametrize("mechanism", NO_INJURY)
def test_who_tells_of_no_injury_has_nothing_that_needs_one(curriculum: str, mechanism: Mechanism) -> None:
    """In every curriculum and setting such a knee has no chance of a lesion that needs an injury."""
    model = load_model()
    needs = np.append(needs_injury(model), False)[model.states.members].any(axis=1)
    for setting in Setting:
        recipe = Recipe(seed=3, setting=setting, curriculum=curriculum, age_years=46, mechanism=mechanism)
        chances = state_chances(model, recipe, draw_person(model, recipe, Dice(3)))
        assert chances.sum() == pytest.approx(1.0)
        assert chances[needs].sum() == 0.0
        free = replace(recipe, mechanism=Mechanism.TWIST)
        assert state_chances(model, free, draw_person(model, free, Dice(3)))[needs].sum() > 0


def test_a_wish_for_a_torn_ligament_brings_an_injury() -> None:
    """Whatever the seed, patients built with a torn ligament were hurt; a wish without one is refused."""
    for seed in range(25):
        for wish in ([("acl_tear", "complete"), ("mcl_tear", "grade_3")], [("mcl_tear", "")]):
            recipe = recipe_with(Recipe(seed=seed, age_years=46), wish)
            assert recipe.mechanism not in NO_INJURY
    with pytest.raises(InputError, match="mechanism"):
        recipe_with(Recipe(seed=1, age_years=46, mechanism=Mechanism.INSIDIOUS), [("acl_tear", "complete")])


@pytest.mark.parametrize(
    ("lesion", "level"),
    [("plc_injury", ""), ("acl_tear", "complete"), ("medial_meniscus_tear", "torn"), ("pcl_tear", "")],
)
def test_a_wished_lesion_came_about_as_its_table_says(lesion: str, level: str) -> None:
    """Of 400 wishes for one lesion each mechanism is told as often as the model's table has it.

    Within four standard errors of a share of 400; what needs an injury is never told without one.
    """
    wishes, model = 400, load_model()
    circumstances = Recipe(seed=0, age_years=30, setting=Setting.SPORTS_CLINIC)
    told = Counter(
        recipe_with(replace(circumstances, seed=997 * each), [(lesion, level)]).mechanism
        for each in range(wishes)
    )
    needs = needs_injury(model)
    slots = [i for i, slot in enumerate(model.states.slots) if slot[0] == lesion and level in ("", slot[1])]
    table = model.knowledge.mechanisms
    row = table.get(f"{lesion}:{level}", table[lesion])
    left = {each: row[each.value] for each in Mechanism if not (needs[slots].all() and each in NO_INJURY)}
    for each, share in left.items():
        expected = share / sum(left.values())
        error = 4 * (expected * (1 - expected) / wishes) ** 0.5 + 1 / wishes
        assert told[each] / wishes == pytest.approx(expected, abs=error), each


def test_ligaments_and_menisci_are_still_drawn_of_both_kinds() -> None:
    """Among sixty patients of the curriculum some were hurt and some were not, and the story fits each."""
    told = set()
    model = load_model()
    needed = {slot for slot, needs in zip(model.states.slots, needs_injury(model), strict=True) if needs}
    for seed in range(60):
        hidden = draw_patient(Recipe(seed=seed, curriculum="ligaments"))
        unhurt = hidden.person.context.mechanism in NO_INJURY
        told.add(unhurt)
        assert not (unhurt and needed & set(hidden.complaint.lesions)), seed
    assert told == {True, False}
