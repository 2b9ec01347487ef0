"""A practice patient drawn from its recipe: the model of the knee run forwards on both knees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from fabella.advise.forbidden import contraindications
from fabella.anatomy import Side, other
from fabella.errors import InputError
from fabella.flags import cannot_wait
from fabella.infer import Model, load_model
from fabella.infer.states import Slot
from fabella.protocol import Kind, Protocol, load_protocol
from fabella.record import Acuity
from fabella.stats.threads import one_thread
from fabella.teach.curricula import load_curricula, weigh_states
from fabella.teach.dice import Dice
from fabella.teach.everything import everything_found
from fabella.teach.hidden import Hidden, HiddenKnee
from fabella.teach.history import draw_answers
from fabella.teach.injuries import can_be_told
from fabella.teach.knees import DrawnKnee, draw_knee, pick_state
from fabella.teach.outcomes import draw_outcomes
from fabella.teach.person import Person, draw_person
from fabella.teach.recipe import Recipe

_ANGRY = (
    "septic_arthritis",
    "crystal_arthritis",
    "tibial_plateau_fracture",
    "distal_femoral_fracture",
    "patellar_fracture",
    "tibial_spine_avulsion",
    "tibial_tubercle_avulsion",
    "knee_dislocation",
    "quadriceps_tendon_rupture",
    "patellar_tendon_rupture",
)
"""Lesions that make a knee hurt more than others when it is touched (judgement: common practice)."""
_SORE = {Acuity.ACUTE: 1.4, Acuity.SUBACUTE: 1.0, Acuity.CHRONIC: 0.8}
"""How much of the hurt of a manoeuvre an injured knee feels, by how fresh it is (judgement)."""


def draw_patient(recipe: Recipe) -> Hidden:
    """Return the hidden patient of a recipe: the same one everywhere.

    Raises `InputError` when nobody in these circumstances can have what the curriculum asks for.
    """
    model, protocol = load_model(), load_protocol()
    dice = Dice(recipe.seed)
    with one_thread():
        person = draw_person(model, recipe, dice)
        drawn = _draw_knees(model, recipe, person, dice, protocol=protocol)
        lesions = {side: model.states.names(knee.state) for side, knee in drawn.items()}
        answers = draw_answers(person, drawn[person.side], lesions[person.side], dice, protocol=protocol)
        outcomes = draw_outcomes(person, drawn, lesions, dice, protocol=protocol)
        everything = everything_found(person, drawn, outcomes, answers, protocol=protocol)
        alarms = cannot_wait(everything, protocol=protocol)
        knees = {
            side: _hidden_knee(
                knee,
                lesions[side],
                person,
                frozenset(contraindications(_certain(model, knee), everything, alarms, side)),
            )
            for side, knee in drawn.items()
        }
    return Hidden(
        recipe=recipe,
        person=person,
        knees=knees,
        outcomes=outcomes,
        answers=answers,
        everything=everything,
    )


def state_chances(model: Model, recipe: Recipe, person: Person) -> NDArray[np.float64]:
    """Return the chance of each state of the knee complained of (states,), adding up to 1."""
    prior = model.prior(person.circumstances).probability
    told = np.where(can_be_told(model, person.context.mechanism), prior, 0.0)
    chances = weigh_states(model, told / max(told.sum(), 1e-300), load_curricula()[recipe.curriculum])
    if not chances.sum() > 0:
        age = person.patient.age_years
        says = f"has nothing that occurs at the age of {age:g} in this setting, come about so"
        remedy = "choose another age, mechanism or curriculum"
        raise InputError.of(place="curriculum", value=recipe.curriculum, says=says, remedy=remedy)
    return chances


@cache
def drawn_signs() -> tuple[str, ...]:
    """Return the signs of the protocol that the model gives a meaning to."""
    protocol = load_protocol()
    known = load_model().knowledge.indicators
    return tuple(sign.id for sign in protocol.signs if sign.id in known and sign.kind is not Kind.COURTESY)


def _draw_knees(
    model: Model, recipe: Recipe, person: Person, dice: Dice, *, protocol: Protocol
) -> Mapping[Side, DrawnKnee]:
    quiet = replace(person.circumstances, mechanism=None, symptomatic=False)
    chances = {
        person.side: (person.circumstances, state_chances(model, recipe, person)),
        other(person.side): (quiet, model.prior(quiet).probability),
    }
    return {
        side: draw_knee(
            model,
            circumstances,
            pick_state(probability, dice.fraction("state", "complaint" if side is person.side else "other")),
            side,
            dice,
            protocol=protocol,
            signs=drawn_signs(),
        )
        for side, (circumstances, probability) in chances.items()
    }


def _certain(model: Model, knee: DrawnKnee) -> Mapping[tuple[str, str], float]:
    """Return the chances of every lesion and level for somebody who knew everything."""
    states = np.zeros(len(model.states))
    states[knee.state] = 1.0
    return model.chances(states)


def _hidden_knee(
    knee: DrawnKnee, lesions: tuple[Slot, ...], person: Person, forbidden: frozenset[str]
) -> HiddenKnee:
    irritability = 0.0 if not lesions else _SORE[person.context.acuity or Acuity.CHRONIC]
    if any(lesion in _ANGRY for lesion, _ in lesions):
        irritability *= 1.4
    return HiddenKnee(
        lesions=lesions,
        guarding=knee.guarding,
        prevented=knee.prevented,
        irritability=irritability * (1.3 if knee.guarding else 1.0),
        forbidden=forbidden,
    )
