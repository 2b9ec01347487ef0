"""Knees after an operation: loud where something went wrong, silent in a usual course."""

import pytest

from fabella.flags import cannot_wait
from fabella.record import Mechanism, ProcedureName
from tests.flags.build import MET, OPEN, PROTOCOL, RIGHT, Found, exam, verdict, verdicts

TOTAL = ProcedureName.TOTAL_KNEE_REPLACEMENT
GRAFT = ProcedureName.ACL_RECONSTRUCTION
TENDON = ProcedureName.EXTENSOR_REPAIR
PLATE = ProcedureName.FRACTURE_FIXATION
USUAL: dict[str, Found] = {
    "warmth": "warm",
    "erythema": "none",
    "open_wound": False,
    "sinus": False,
    "effusion": "small",
    "quadriceps_wasting": "mild",
    "antalgic_gait": "mild",
    "scar": True,
    "passive_flexion": 95,
    "passive_extension": -5,
    "tenderness_calf": False,
    "distal_pulses": "normal",
    "foot_drop": "none",
}
FEVER_DENIED = {"fever": False, "rigors_or_unwell": False}


@pytest.mark.parametrize(
    ("name", "age", "days", "onset", "mechanism"),
    [
        (GRAFT, 23, 14, 40, Mechanism.TWIST),
        (GRAFT, 23, 42, 300, Mechanism.TWIST),
        (ProcedureName.MENISCAL_REPAIR, 19, 42, 90, Mechanism.TWIST),
        (ProcedureName.PATELLAR_STABILISATION, 17, 84, 400, Mechanism.TWIST),
        (ProcedureName.OSTEOTOMY, 47, 84, 1000, Mechanism.INSIDIOUS),
        (PLATE, 45, 10, 11, Mechanism.HIGH_ENERGY),
        (ProcedureName.WASHOUT, 55, 14, 20, Mechanism.INSIDIOUS),
    ],
)
def test_a_usual_course_raises_nothing(
    name: ProcedureName, age: float, days: int, onset: float, mechanism: Mechanism
) -> None:
    """Warm, a little full, stiff, thin, sore at night and where bone was cut: nothing cannot wait."""
    found = {**USUAL, "tenderness_medial_tibial_plateau": name is ProcedureName.OSTEOTOMY}
    said = {**FEVER_DENIED, "night_pain": True, "rest_pain": False}
    examination = exam(found, said=said, age=age, days=onset, mechanism=mechanism, operated=(name, days))
    assert not verdicts(examination)


def test_pain_at_night_of_a_new_replacement_is_no_tumour() -> None:
    """For half a year it is usual; later it is asked about as in any knee."""

    def of(days: int) -> object:
        said = {"night_pain": True}
        return verdict(exam(USUAL, said=said, age=69, days=2000, operated=(TOTAL, days)), "tumour_bone_pain")

    assert of(14) is None
    assert of(182) is None
    assert of(183) is MET


def test_cancer_speaks_in_a_knee_that_heals() -> None:
    """What heals explains pain, not a history of cancer beside tender bone and a mass."""
    found: dict[str, Found] = {**USUAL, "palpable_mass": True}
    said = {"night_pain": True, "active_cancer": True}
    examination = exam(found, said=said, age=69, days=2000, operated=(TOTAL, 60))
    assert verdict(examination, "tumour_bone_pain") is MET


def test_a_foot_without_pulses_after_a_replacement_is_told_at_once() -> None:
    """Though nobody looked at the other foot, and nothing was injured."""
    found: dict[str, Found] = {**USUAL, "distal_pulses": "absent", "cool_foot": True}
    assert verdict(exam(found, days=2000, operated=(TOTAL, 3)), "vascular_injury") is MET
    assert verdict(exam(found, days=2000, operated=(TOTAL, 400)), "vascular_injury") is None


def test_a_foot_drop_after_a_replacement_is_told_today() -> None:
    """It had waited for two weeks as one without injury, with the back to be examined first."""
    found: dict[str, Found] = {**USUAL, "foot_drop": "absent"}
    told = {
        alarm.rule: alarm
        for alarm in cannot_wait(
            exam(found, days=2000, mechanism=Mechanism.INSIDIOUS, operated=(TOTAL, 2)), protocol=PROTOCOL
        )
        if alarm.is_met
    }
    assert told["nerve_after_operation"].urgency == "same_day"
    assert "foot_drop_without_injury" not in told


def test_a_tight_compartment_after_an_operation_is_told_by_one_sign() -> None:
    """The record of the operation stands for the question about it; without either one sign is not enough."""
    found: dict[str, Found] = {"compartment_tense": True}
    assert verdict(exam(found, days=500, operated=(PLATE, 1)), "compartment_syndrome") is MET
    assert verdict(exam(found, days=500), "compartment_syndrome") is not MET


@pytest.mark.parametrize(
    "wrong",
    [
        {"sinus": True},
        {"open_wound": True},
        {"warmth": "hot", "motion_pain_any": True},
        {"haemarthrosis_aspirate": "turbid"},
    ],
)
def test_an_infected_graft_is_told_today_without_fever(wrong: dict[str, Found]) -> None:
    """A complaint of months had hidden it from the rule of a short history."""
    found: dict[str, Found] = {**USUAL, **wrong}
    examination = exam(found, said=FEVER_DENIED, days=130, mechanism=Mechanism.TWIST, operated=(GRAFT, 21))
    assert verdict(examination, "operated_joint_infection") is MET
    told = verdicts(examination)
    assert ("hot_knee_that_lasts", RIGHT) not in told
    assert ("open_joint", RIGHT) not in told


def test_fever_with_a_warm_operated_knee_is_told_today() -> None:
    """Whatever else is usual."""
    examination = exam(USUAL, person={"body_temperature": 38.6}, days=130, operated=(GRAFT, 21))
    assert verdict(examination, "operated_joint_infection") is MET


def test_a_puncture_after_the_operation_is_still_an_open_joint() -> None:
    """Only the wound of the operation is taken for granted."""
    found: dict[str, Found] = {"open_wound": True}
    fresh = exam(
        found,
        said={"penetrating_injury": True},
        days=1,
        mechanism=Mechanism.PENETRATING,
        operated=(GRAFT, 60),
    )
    assert verdict(fresh, "open_joint") is MET


@pytest.mark.parametrize(
    ("name", "days", "bends", "expected"),
    [
        (TOTAL, 84, 60, MET),
        (TOTAL, 84, 90, None),
        (TOTAL, 14, 60, None),
        (TOTAL, 183, 60, None),
        (TENDON, 42, 60, None),
        (TENDON, 84, 60, MET),
    ],
)
def test_a_knee_that_stays_stiff_is_told(
    name: ProcedureName, days: int, bends: float, expected: object
) -> None:
    """Sixty degrees at twelve weeks is told while a manipulation still helps."""
    examination = exam({**USUAL, "passive_flexion": bends}, days=900, operated=(name, days))
    assert verdict(examination, "stiff_after_operation") is expected


def test_a_foot_without_pulse_after_an_operation_is_told_once() -> None:
    """Beside the arterial injury nobody is asked whether the foot is ischaemic without one."""
    found: dict[str, Found] = {"distal_pulses": "absent", "cool_foot": True}
    examination = exam(found, days=2000, operated=(TOTAL, 7))
    assert verdict(examination, "vascular_injury") is MET
    assert verdict(examination, "ischaemic_foot") is None


def test_a_knee_that_stiffened_of_late_has_not_stayed_stiff() -> None:
    """What began after the operation is a complaint of its own: a knee locked for ten days is no scar."""
    examination = exam({**USUAL, "passive_extension": -20}, days=10, operated=(GRAFT, 150))
    assert verdict(examination, "stiff_after_operation") is None


def test_a_lag_after_a_tendon_repair_is_no_new_rupture_but_a_leg_not_raised_is() -> None:
    """At two weeks a lag is usual; who cannot lift the leg at all, or has a gap, is told."""

    def of(found: dict[str, Found]) -> object:
        examination = exam(
            found, days=20, mechanism=Mechanism.FORCED_QUADRICEPS, age=58, operated=(TENDON, 14)
        )
        return verdict(examination, "extensor_rupture")

    assert of({"straight_leg_raise": "lag", "palpable_gap_quadriceps": False}) is None
    assert of({"straight_leg_raise": "unable"}) is MET
    assert of({"straight_leg_raise": "lag", "palpable_gap_quadriceps": True}) is MET


def test_a_joint_that_swells_weeks_after_the_operation_is_a_septic_one() -> None:
    """A new complaint of three days is judged by the rule for it, however lately the knee was operated on."""
    found: dict[str, Found] = {**USUAL, "effusion": "moderate"}
    examination = exam(found, days=3, mechanism=Mechanism.INSIDIOUS, operated=(GRAFT, 56))
    assert verdict(examination, "septic_joint_adult") is MET


@pytest.mark.parametrize(
    ("name", "days", "warmth", "expected"),
    [
        (ProcedureName.MANIPULATION, 14, "warm", OPEN),
        (ProcedureName.MANIPULATION, 14, "hot", MET),
        (ProcedureName.MANIPULATION, 85, "warm", MET),
        (ProcedureName.WASHOUT, 14, "warm", MET),
        (ProcedureName.ARTHROSCOPY, 14, "warm", MET),
    ],
)
def test_warmth_after_a_manipulation_of_a_replaced_knee_is_asked_about(
    name: ProcedureName, days: int, warmth: str, expected: object
) -> None:
    """It opened nothing, and warmth alone is usual; heat is told, and warmth of a joint that was opened."""
    found: dict[str, Found] = {**USUAL, "warmth": warmth}
    examination = exam(found, said={"knee_prosthesis": True}, age=69, days=2000, operated=(name, days))
    assert verdict(examination, "prosthetic_joint_infection") is expected


def test_an_injury_after_the_operation_is_a_fresh_one() -> None:
    """Who falls six weeks after a reconstruction is asked by the rules of fractures."""
    found: dict[str, Found] = {"tenderness_fibular_head": True}
    fall = Mechanism.FALL_ON_KNEE
    assert verdict(exam(found, days=1, mechanism=fall, operated=(GRAFT, 42)), "ottawa_knee") is MET
    assert verdict(exam(found, days=5, mechanism=fall, operated=(PLATE, 4)), "ottawa_knee") is None
