"""A joint that bleeds: the hour of the factor, the needle, and what else the same knee may be."""

import pytest

from fabella.flags import cannot_wait
from fabella.record import Answer
from tests.flags.build import MET, OPEN, PROTOCOL, Found, exam, verdict

TIGHT: dict[str, Found] = {
    "warmth": "warm",
    "erythema": "none",
    "effusion": "large",
    "passive_flexion": 60,
    "motion_pain_any": True,
}
HAEMOPHILIA: dict[str, Answer] = {"bleeding_disorder": True, "fever": False, "rigors_or_unwell": False}
COOL: dict[str, Found] = {"body_temperature": 36.8}


@pytest.mark.parametrize("age", [9, 30])
def test_a_bleed_in_haemophilia_is_given_factor_and_no_needle(age: float) -> None:
    """A tight, warm, stiff knee of hours is a bleed there, and infection only with a sign of its own."""
    bled = exam(TIGHT, person=COOL, said=HAEMOPHILIA, age=age, days=0.5)
    alarms = {each.rule: each for each in cannot_wait(bled, protocol=PROTOCOL)}
    assert alarms["bleed_needs_factor"].is_met
    assert {each.deed for each in alarms["bleed_needs_factor"].withholds} == {"aspiration"}
    assert not {"septic_joint_adult", "septic_joint_child"} & set(alarms)


@pytest.mark.parametrize("age", [9, 30])
def test_infection_is_not_explained_by_haemophilia(age: float) -> None:
    """Fever, redness or more than three days bring the infected joint back; an unknown fever is asked for."""
    rule = "septic_joint_child" if age < 16 else "septic_joint_adult"
    feverish = {**HAEMOPHILIA, "fever": True}
    assert verdict(exam(TIGHT, said=feverish, age=age, days=0.5), rule) is MET
    red: dict[str, Found] = {**TIGHT, "erythema": "mild"}
    assert verdict(exam(red, person=COOL, said=HAEMOPHILIA, age=age, days=0.5), rule) is MET
    assert verdict(exam(TIGHT, person=COOL, said=HAEMOPHILIA, age=age, days=5), rule) is MET
    unasked: dict[str, Answer] = {"bleeding_disorder": True}
    assert verdict(exam(TIGHT, said=unasked, age=age, days=0.5), rule) is OPEN


def test_an_anticoagulant_is_no_bleeding_disorder() -> None:
    """No factor helps there: the joint is seen today, and infection is looked for as in anybody."""
    takes = exam(TIGHT, said={"anticoagulant": True, "bleeding_disorder": False}, age=70, days=2)
    assert verdict(takes, "bleed_needs_factor") is None
    assert verdict(takes, "bleeding_joint") is MET
    assert verdict(takes, "septic_joint_adult") is MET


def test_tingling_in_haemophilia_asks_for_the_knee_to_be_examined() -> None:
    """The first sign of a bleed is felt before it is seen; a knee that was examined and is dry is silent."""
    assert verdict(exam(said=HAEMOPHILIA, days=0.1), "bleed_needs_factor") is OPEN
    assert verdict(exam({"effusion": "none"}, said=HAEMOPHILIA, days=0.1), "bleed_needs_factor") is OPEN
