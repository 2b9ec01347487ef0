"""In a growing knee what pulls gives way at its bone: a sleeve of the patella, seldom the tendon."""

from __future__ import annotations

import pytest

from fabella.infer import ANY_LEVEL, KneeEvidence, Setting, load_model, posterior
from fabella.infer.evidence_of import plain

RUPTURED = (
    plain("straight_leg_raise", 2, 2),
    plain("high_riding_patella", 1, 1),
    plain("palpable_gap_patellar_tendon", 1, 1),
    plain("tenderness_inferior_pole", 1, 1),
)


def chance(age_years: float, lesion: str, level: str = ANY_LEVEL) -> float:
    """Return the chance of a lesion in a boy or man whose knee gave way below the patella on landing."""
    model = load_model()
    setting = Setting(
        setting="emergency", acuity="acute", age_years=age_years, sex="male", mechanism="forced_quadriceps"
    )
    evidence = KneeEvidence(setting=setting, observations=RUPTURED)
    return model.chances(posterior(model, evidence).states)[lesion, level]


@pytest.mark.parametrize("age_years", [8, 10])
def test_below_the_patella_a_child_tears_off_a_sleeve_before_the_tendon(age_years: float) -> None:
    """The sleeve is a child's commonest broken patella, 10.7 years on average (Hunt 2005, Yellin 2024).

    The patella lies high, its lower pole is tender, the gap lies below the bone, the leg cannot be raised.
    """
    sleeve = chance(age_years, "patellar_fracture", "sleeve")
    assert sleeve > 0.5
    assert sleeve > 2 * chance(age_years, "patellar_tendon_rupture")


@pytest.mark.parametrize("age_years", [25, 35, 50])
def test_a_grown_up_with_the_same_findings_has_torn_the_tendon(age_years: float) -> None:
    """An ossified patella holds: a sleeve torn off it is a rarity of case reports."""
    assert chance(age_years, "patellar_tendon_rupture") > 0.6
    assert chance(age_years, "patellar_fracture", "sleeve") < 0.05
