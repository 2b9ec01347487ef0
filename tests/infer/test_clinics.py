"""What is told, held against clinics nobody knows: each is drawn with parameters of its own."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from fabella.anatomy import Side
from fabella.grade import levels_of
from fabella.infer import ANY_LEVEL, KneeEvidence, Model, Setting, conclude_knee, load_model
from fabella.infer.drawn import drawable
from fabella.infer.evidence_of import plain
from fabella.infer.network import GUARDING
from fabella.infer.simulate import draw_a_row
from fabella.protocol import load_protocol

SETTING = Setting(setting="sports_clinic", acuity="acute", mechanism="twist", age_years=25, symptomatic=True)
CLINICS, KNEES, SIGNS = 60, 6, 20
CAUTION = 1 / 6
"""Lesions a knee that may be told too few."""


def levels_drawn(
    model: Model, name: str, state: NDArray[np.intp], draw: int, rng: np.random.Generator
) -> NDArray[np.intp]:
    """Draw the level of one manifestation in each knee of a clinic."""
    manifestation = model.manifestation(SETTING, name)
    used, position = np.unique(manifestation.configuration[state], return_inverse=True)
    chance = manifestation.drawn_distribution(model.drawn_quiet(SETTING, name), used)[..., draw].astype(float)
    return draw_a_row(chance[position] / chance[position].sum(axis=1, keepdims=True), rng)


def clinic(
    model: Model, signs: dict[str, int], draw: int, rng: np.random.Generator
) -> Iterator[tuple[int, KneeEvidence]]:
    """Yield knees of one clinic, each as its state and what was found in it."""
    weight = model.prior(SETTING).probability * np.exp(
        model.drawn_rates[model.states.members, draw].sum(axis=1)
    )
    state = rng.choice(len(weight), size=KNEES, p=weight / weight.sum())
    guarding = levels_drawn(model, GUARDING, state, draw, rng)
    reports = {}
    names = tuple(signs)
    for group, own in model.by_group(names).items():
        joint = np.zeros(KNEES, dtype=np.intp)
        for name, most in zip(group, model.table(SETTING, group).levels, strict=True):
            joint = joint * (most + 1) + levels_drawn(model, name, state, draw, rng)
        for sign in (names[i] for i in own):
            chance = model.outcome(sign, SETTING, signs[sign]).drawn[guarding, :, joint, draw].astype(float)
            reports[sign] = draw_a_row(chance / chance.sum(axis=1, keepdims=True), rng)
    for knee in range(KNEES):
        found = tuple(plain(sign, int(reports[sign][knee]), signs[sign]) for sign in names)
        yield int(state[knee]), KneeEvidence(setting=SETTING, observations=found, guarded=False, unused=())


def test_what_is_told_holds_in_clinics_that_nobody_knows() -> None:
    """Prevalences, links and accuracies are drawn for each clinic; what is told is not bold, little cautious.

    The error of a clinic is what was told less what was there, over all lesions told as likelier than 20 %,
    and of those likelier than half. Told is never too much (3.5 standard errors), and too little by at most a
    sixth of a lesion a knee: each draw of the parameters counts alike, however well it fits the findings.
    """
    model, protocol = load_model(), load_protocol()
    every = {
        sign.id: len(levels_of(sign)) - 1
        for sign in drawable(model, protocol, None, routine=True)
        if not sign.is_person
    }
    rng = np.random.default_rng(12)
    errors = np.zeros((CLINICS, 2))
    for place, draw in enumerate(rng.choice(model.draws, size=CLINICS, replace=False)):
        chosen = rng.choice(list(every), size=SIGNS, replace=False)
        for state, evidence in clinic(
            model, {str(each): every[str(each)] for each in chosen}, int(draw), rng
        ):
            there = {lesion for lesion, _ in model.states.names(state)}
            told, _ = conclude_knee(model, evidence, Side.RIGHT, rng)
            for entry in told.lesions:
                if entry.level == ANY_LEVEL:
                    error = entry.probability - (entry.lesion in there)
                    errors[place] += error * (entry.probability >= np.array([0.2, 0.5]))
    mean, spread = errors.mean(axis=0), errors.std(axis=0, ddof=1) / np.sqrt(CLINICS)
    assert (mean < 3.5 * spread).all(), (mean, spread)
    assert (mean > -CAUTION * KNEES).all(), (mean, spread)
    assert (spread < 0.4).all()
