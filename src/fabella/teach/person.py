"""Who the patient is: age, sex, how fresh the complaint, how it came about, and which knee."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fabella.anatomy import Side
from fabella.infer import Model
from fabella.infer import Setting as Circumstances
from fabella.infer.prior import told_of
from fabella.packaged import packaged_table
from fabella.record import NO_INJURY, Acuity, Context, Mechanism, Patient, Sex
from fabella.teach.dice import Dice
from fabella.teach.injuries import needs_injury
from fabella.teach.recipe import Recipe

_AT_PLAY_YEARS, _DAYS_IN_A_YEAR = 2, 365
"""From when on a child runs and can be hurt as its story tells: no complaint is older (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """What can be read on the patient's papers, and the circumstances that the model is asked with."""

    patient: Patient
    context: Context
    circumstances: Circumstances

    @property
    def side(self) -> Side:
        """The knee complained of."""
        return self.context.complained_of[0]


def draw_person(model: Model, recipe: Recipe, dice: Dice) -> Person:
    """Return the person of a recipe; what it leaves open is drawn."""
    people = packaged_table("teach/data/people.toml")
    row = people["setting"][recipe.setting.value]
    age = recipe.age_years if recipe.age_years is not None else _age(row, people["bands_years"], dice)
    sex = recipe.sex or (Sex.FEMALE if dice.happens(row["female"], "sex") else Sex.MALE)
    acuity = recipe.acuity or _acuity(row, dice)
    low, high = people["onset_days"][acuity.value]
    high = min(high, max(low, (age - _AT_PLAY_YEARS) * _DAYS_IN_A_YEAR))
    onset = round(float(low * (high / low) ** dice.fraction("onset")))
    side = recipe.side or (Side.RIGHT if dice.happens(0.5, "side") else Side.LEFT)
    known = Circumstances(
        setting=recipe.setting.value, acuity=acuity.value, age_years=float(age), sex=sex.value
    )
    mechanism = recipe.mechanism or _mechanism(model, known, dice)
    return Person(
        patient=Patient(age_years=float(age), sex=sex),
        context=Context(
            setting=recipe.setting,
            acuity=acuity,
            onset_days=float(onset),
            mechanism=mechanism,
            complaint=(side,),
        ),
        circumstances=Circumstances(
            setting=known.setting,
            acuity=known.acuity,
            age_years=known.age_years,
            sex=known.sex,
            mechanism=mechanism.value,
        ),
    )


def mechanism_chances(model: Model, known: Circumstances) -> dict[Mechanism, float]:
    """Return how often each mechanism is told here: the mean over the lesions, each as common as it is.

    Of what needs an injury one is told.
    """
    rate = model.prior_target(known)
    unhurt = np.where(needs_injury(model), 0.0, rate)
    return {
        each: float(
            (unhurt if each in NO_INJURY else rate)
            @ told_of(model.states, model.knowledge, known, each.value)
            / rate.sum()
        )
        for each in Mechanism
    }


def _mechanism(model: Model, known: Circumstances, dice: Dice) -> Mechanism:
    chances = mechanism_chances(model, known)
    return tuple(chances)[dice.pick(tuple(chances.values()), "mechanism")]


def _age(row: dict[str, Any], bands: list[list[int]], dice: Dice) -> int:
    low, high = bands[dice.pick(row["ages"], "age band")]
    return low + int(dice.fraction("age") * (high - low + 1))


def _acuity(row: dict[str, Any], dice: Dice) -> Acuity:
    if dice.happens(row["acute"], "acute"):
        return Acuity.ACUTE
    return Acuity.SUBACUTE if dice.happens(row["subacute"], "subacute") else Acuity.CHRONIC
