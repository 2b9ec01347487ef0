"""Practice patients show each sign as often as is published."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt

import numpy as np

from fabella.anatomy import Side
from fabella.evidence.facts import AccuracyUsed
from fabella.evidence.knowledge import load_knowledge
from fabella.infer import Setting, load_model
from fabella.protocol import load_protocol
from fabella.record import Setting as Place
from fabella.teach import Reasoner, Recipe, draw_patient
from fabella.teach.dice import Dice
from fabella.teach.knees import draw_knee, pick_state
from tests.infer.forwards import having
from tests.infer.test_calibrated_signs import UNREACHABLE, population, published

KNEES = 1000
"""Knees drawn with the target lesion, and as many without, for each published accuracy."""
ALLOWED_SE = 3.0
"""Standard errors of the sample by which a share may lie outside the published interval."""


def called(used: AccuracyUsed, *, torn: bool) -> float:
    """The share of simulated patients, with or without the target lesion, in whom the sign is abnormal."""
    model, protocol, setting = load_model(), load_protocol(), population(used)
    held = having(model, *used.targets)
    chances = np.where(held if torn else ~held, model.prior(setting).probability, 0.0)
    own = Setting(setting=used.setting or None, acuity=setting.acuity, age_years=setting.age_years)
    found = 0
    for seed in range(KNEES):
        dice = Dice(seed)
        state = pick_state(chances, dice.fraction("state", used.sign, torn))
        knee = draw_knee(model, own, state, Side.RIGHT, dice, protocol=protocol, signs=(used.sign,))
        levels = knee.guarded if knee.guarding else knee.relaxed
        found += levels[used.sign] > 0
    return found / KNEES


def test_whoever_finds_everything_is_as_sure_as_right() -> None:
    """Over whole patients of all settings, lesions are there as often as everything there is to find says.

    The error is the number of lesions expected less the number there, within 4 standard errors.
    """
    reasoner, errors = Reasoner(), []
    for seed in range(100):
        hidden = draw_patient(Recipe(seed=seed, setting=list(Place)[seed % 4]))
        chances = reasoner.think(hidden.everything).chances
        errors.append(sum(chances.values()) - len(hidden.complaint.lesions))
    spread = np.std(errors, ddof=1) / len(errors) ** 0.5
    assert abs(np.mean(errors)) < 4 * spread
    assert spread < 0.1


def test_each_sign_has_its_published_accuracy_among_simulated_patients(tell: Callable[[str], None]) -> None:
    """Over thousands of simulated patients every sign has its published sensitivity and specificity.

    Within the printed interval, or the binomial one where none was printed, give or take three standard
    errors of the sample. The exceptions are those which the model cannot reach, named with the model.
    """
    rows, outside = [], set()
    for used in load_knowledge().accuracy:
        got = {"sensitivity": called(used, torn=True), "specificity": 1 - called(used, torn=False)}
        for name, (low, high) in published(used).items():
            value, target = got[name], getattr(used, name)
            margin = ALLOWED_SE * sqrt(max(value * (1 - value), 0.001) / KNEES)
            inside = low - margin <= value <= high + margin
            rows.append(
                f"{used.sign:30s} {used.setting:18s} {name:12s} {target:.3f} ({low:.3f} to {high:.3f}) "
                f"simulated {value:.3f} {'inside' if inside else 'OUTSIDE'}"
            )
            if not inside:
                outside.add((used.sign, name))
    table = "\n".join(rows)
    tell(table)
    assert outside <= set(UNREACHABLE), table
