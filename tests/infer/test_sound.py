"""Knees that nobody complains of: they show little, and what they show is concluded as it is drawn."""

from __future__ import annotations

import numpy as np
import pytest

from fabella.evidence import load_edition
from fabella.infer import ANY_LEVEL, Setting, load_model
from fabella.infer.cohort import Cohort, CohortPosterior
from fabella.infer.drawn import drawable
from fabella.infer.simulate import simulate_knees
from fabella.infer.sound import BUILD, SELDOM
from fabella.protocol import load_protocol
from tests.infer.crowd import grades
from tests.infer.forwards import Floats, chance, having, show

SOUND = Setting(setting="specialist_clinic", age_years=29, sex="male", symptomatic=False)
LIMB = (
    "distal_pulses",
    "ankle_brachial_index",
    "cool_foot",
    "capillary_refill_s",
    "expanding_haematoma",
    "foot_drop",
    "deformity",
)
"""Signs that a leg is in danger."""
KNEES = 15000
EDGES = (0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95)


def hands() -> list[str]:
    """Every sign of a leg that can be drawn."""
    signs = drawable(load_model(), load_protocol(), None)
    return [sign.id for sign in signs if not (sign.is_person or sign.is_history)]


def in_healthy(setting: Setting, sign: str) -> float:
    """How often a leg without any listed lesion shows a sign."""
    return float(chance(load_model(), setting, [sign])[0])


def test_a_healthy_leg_shows_one_to_three_abnormal_signs() -> None:
    """Of some 170 signs a leg without lesion and complaint shows one to three, wherever seen."""
    signs = hands()
    assert len(signs) > 150
    for setting in ("primary_care", "emergency", "sports_clinic", "specialist_clinic"):
        for acuity in ("acute", "chronic"):
            own = Setting(setting=setting, acuity=acuity, age_years=29, sex="male", symptomatic=False)
            assert 1 < sum(in_healthy(own, sign) for sign in signs) < 3, (setting, acuity)


@pytest.mark.parametrize("sign", LIMB)
def test_a_healthy_leg_is_hardly_ever_in_danger(sign: str) -> None:
    """No sign of a leg in danger is called in one healthy leg of 150, the least in one of a thousand.

    Common practice; that a pulse is not felt in several of a hundred healthy feet is published (from memory).
    """
    assert in_healthy(SOUND, sign) < (0.0011 if sign == "expanding_haematoma" else 1 / 150)


def test_sound_knees_are_called_seldomer_than_knees_of_which_half_were_patients() -> None:
    """Meniscal signs are commoner in published knees of which half were patients than in our sound ones.

    Karachalios 2005: 213 patients and 197 healthy volunteers together, false positives by side (in the table
    of accuracies). Left out is the Thessaly test at 20 degrees, which is fitted to a specificity of 0.39 (the
    study above: 0.97).
    """
    found, rows = False, []
    for row in load_edition().accuracy:
        if row.source.key != "karachalios_2005" or row.sign_id == "thessaly_20":
            continue
        assert row.specificity is not None
        specificity = row.specificity.value
        assert specificity is not None
        model, lesion = load_model(), row.target
        weight = np.where(having(model, lesion), 0.0, model.prior(SOUND).probability)
        own = float(weight @ chance(model, SOUND, [row.sign_id]) / weight.sum())
        rows.append(f"{row.sign_id} {lesion} {own:.3f} {1 - specificity:.3f}")
        assert own < 1 - specificity, show(rows)
        found = True
    assert found


def test_how_somebody_is_made_shows_without_a_complaint() -> None:
    """Bow legs, knock knees and knees that bend back are as common as in people without a complaint.

    Nam 2014, axis on radiographs of 200 limbs: varus 19.5 %, valgus 10.5 %; J Sport Rehabil 1996: one knee of
    9.8 % of school athletes bends back. What hands find is no commoner, and no seldomer than a third of it.
    """
    published = {"varus_alignment": 0.195, "valgus_alignment": 0.105, "recurvatum": 0.098}
    for sign, share in published.items():
        assert share / 3 < in_healthy(SOUND, sign) <= share, sign


def test_leaks_are_rarer_without_a_complaint_and_lesions_show_as_surely() -> None:
    """Each leak but those of build is weaker by one factor, drawn or not; other causes are the same."""
    model = load_model()
    felt = Setting(acuity="acute")
    quiet = Setting(acuity="acute", symptomatic=False)
    for name in model.knowledge.manifestations:
        one, other = model.manifestation(felt, name), model.manifestation(quiet, name)
        drawn = [-np.expm1(model.drawn_quiet(each, name).astype(float)) for each in (felt, quiet)]
        for i, cause in enumerate(one.causes):
            share = 1.0 if cause.parts or name in BUILD else SELDOM
            assert other.chance[i] == pytest.approx(share * one.chance[i])
            assert drawn[1][i] == pytest.approx(share * drawn[0][i], abs=1e-5)


def test_what_is_drawn_without_a_complaint_is_concluded_so() -> None:
    """Of knees without a complaint given a probability that share has the lesion (4.5 standard errors)."""
    model = load_model()
    signs = {sign: grades(sign) for sign in hands()}
    drawn = simulate_knees(model, SOUND, signs, KNEES, np.random.default_rng(23))
    blocks = CohortPosterior(model, Cohort(SOUND, drawn.reports, signs)).blocks()
    concluded = np.concatenate([block for _, block in blocks]).astype(float)
    there: Floats = model.membership[drawn.state]
    rows, deviations = [], []
    for i, (lesion, level) in enumerate(model.quantities):
        if level != ANY_LEVEL:
            continue
        which = np.digitize(concluded[:, i], EDGES)
        for each in range(len(EDGES) + 1):
            p, present = concluded[which == each, i], there[which == each, i]
            variance = float((p * (1 - p)).sum())
            if variance > 4:
                deviations.append((present - p).sum() / np.sqrt(variance))
                rows.append(
                    f"{lesion} {p.mean():.3f} {present.mean():.3f} n {len(p)} z {deviations[-1]:+.2f}"
                )
    assert len(deviations) > 20, show(rows)
    assert np.abs(deviations).max() < 4.5, show(rows)
    count = len(deviations)
    assert abs(np.square(deviations).sum() - count) < 4 * np.sqrt(2 * count), show(rows)
