"""A knee with one lesion shows some signs as often as series of that lesion did."""

import numpy as np
import pytest

from fabella.infer import KneeEvidence, Setting, load_model, posterior
from fabella.infer.evidence_of import plain

CHRONIC = Setting(setting="specialist_clinic", acuity="chronic")
BROKE = Setting(setting="specialist_clinic", acuity="acute", age_years=30)


def shown(sign: str, lesion: str, level: str = "present") -> float:
    """Return how often a knee with this lesion alone, or with none listed, is found to show a sign."""
    model = load_model()
    states = model.states
    state = states.alone()[states.slots.index((lesion, level))] if lesion else 0
    return float(model.called(sign, model.circumstances(CHRONIC))[state])


def test_the_wilson_test_is_mostly_negative_in_osteochondritis() -> None:
    """It was positive in 8 of 32 with osteochondritis of the medial condyle (Conrad 2003)."""
    assert shown("wilson", "osteochondral_lesion") == pytest.approx(8 / 32, abs=0.005)


def test_active_cancer_makes_a_clot_likelier_as_published() -> None:
    """Its pooled likelihood ratio in suspected thrombosis is 2.71 (Goodacre 2005, from memory)."""
    ratio = shown("active_cancer", "deep_vein_thrombosis") / shown("active_cancer", "")
    assert ratio == pytest.approx(2.71, abs=0.05)


def test_an_enlarged_bone_is_rare_in_inflammatory_arthritis() -> None:
    """Bony enlargement was felt in 5 % of the comparison patients of Altman 1986 (from memory)."""
    assert shown("bony_enlargement", "inflammatory_arthritis") == pytest.approx(0.05, abs=0.005)


def test_a_tumour_makes_the_femur_tender_twice_as_often_as_the_tibia() -> None:
    """Of osteosarcomas about the knee two in three sit in the femur: 0.42 × 0.75 to 0.19 × 0.80 of all."""
    femur, tibia = (
        shown(sign, "bone_tumour", "aggressive") - shown(sign, "")
        for sign in ("tenderness_medial_femoral_condyle", "tenderness_medial_tibial_plateau")
    )
    assert femur / tibia == pytest.approx(0.42 * 0.75 / (0.19 * 0.80), rel=0.15)


def test_a_tumour_breaks_the_femur_as_often_as_published() -> None:
    """Osteosarcoma breaks its bone in 5 to 12 % (Chandrasekar 2012), about the knee mostly the femur."""
    model = load_model()
    chance = model.prior(BROKE).probability
    tumour, broken = (model.states.having(each) for each in ("bone_tumour", "distal_femoral_fracture"))
    assert 0.03 < chance[tumour & broken].sum() / chance[tumour].sum() < 0.12


def septic_to_injured(age_years: float) -> float:
    """Return how many septic knees an emergency department sees for each injured one at an age."""
    model = load_model()
    chance = model.prior(Setting(setting="emergency", acuity="acute", age_years=age_years)).probability
    injuries = [name for name in model.states.lesions if model.lesions[name].kind == "injury"]
    injured = np.any([model.states.having(each) for each in injuries], axis=0)
    return float(chance[model.states.having("septic_arthritis")].sum() / chance[injured].sum())


def test_a_small_childs_knee_is_septic_as_often_as_incidences_make_it() -> None:
    """Knees are hurt in 55 of 100,000 under 5 a year (Gage 2012).

    Joints are septic in 3.28 (to 19 years, Okubo 2017) to 17.9 (under 3, Western Australia 2021), of these
    43.9 % the knee.
    """
    assert 3.28 * 0.439 / 55 < septic_to_injured(2) < 17.9 * 0.439 / 55


def test_at_school_the_same_sum_holds() -> None:
    """From 6.4 to 10.6 years a quarter of 891 fell ill, to 16 another (Western Australia 2021: 9.85 a year).

    Knees are hurt then in 229 (any age) to 383 of 100,000 (15 to 24 years, Gage 2012).
    """
    a_year = 9.85 * 16 * 0.25 / (16 - 10.6) * 0.439
    assert a_year / 383 < septic_to_injured(12) < a_year / 229


def test_knees_are_hurt_a_quarter_as_often_under_five() -> None:
    """0.55 visits in 1,000 a year against 2.29 at all ages, 2.42 from 5 years on (Gage 2012)."""
    model = load_model()
    for name, base in model.knowledge.base_rates.items():
        if model.lesions[name].kind == "injury":
            assert base.odds_by_age[0] / base.odds_by_age[1] == pytest.approx(0.55 / 2.42, abs=0.03)


def test_posterolateral_injuries_lie_between_judged_and_imaged() -> None:
    """They were 30 of 331 acute haemarthroses on magnetic resonance imaging (LaPrade 2007), 0.033 as judged.

    Of a clinic's they are about halfway (in log odds), and in most of them a cruciate is torn too (26 of 30
    had another ligament torn).
    """
    model = load_model()
    setting = Setting(setting="specialist_clinic", acuity="acute", age_years=30)
    evidence = KneeEvidence(setting=setting, observations=(plain("haemarthrosis_aspirate", 1),))
    chance = posterior(model, evidence).states
    having = model.states.having
    corner = having("plc_injury") | having("lcl_tear")
    assert chance[corner].sum() == pytest.approx((0.033 * 30 / 331) ** 0.5, abs=0.012)
    cruciate = having("acl_tear") | having("pcl_tear")
    assert chance[having("plc_injury") & cruciate].sum() / chance[having("plc_injury")].sum() > 0.5
