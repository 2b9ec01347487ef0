"""The fracture rules against their published vignettes."""

import pytest

from fabella.flags import cannot_wait
from fabella.record import Acuity, Examination, Mechanism, Setting
from tests.flags.build import LEFT, MET, OPEN, PROTOCOL, RIGHT, exam, verdict
from tests.flags.examples import NO_BONE

TWIST, FALL = Mechanism.TWIST, Mechanism.FALL_ON_KNEE
CLEAR = {"active_flexion": 120, "tenderness_patella": False, "unable_to_weight_bear": False, **NO_BONE}


def ottawa(days: float = 1, age: float = 30, **changed: bool | float) -> Examination:
    """An acute twist in which every criterion of the Ottawa knee rule is negative, then changed."""
    return exam({**CLEAR, **changed}, days=days, age=age, mechanism=TWIST)


# Worked examples B.7: criteria of Stiell 1995 Ann Emerg Med 26:405 and 1996 JAMA 275:611.


@pytest.mark.parametrize(("age", "met"), [(54, None), (54.99, None), (55, MET), (56, MET)])
def test_ottawa_a_counts_55_itself(age: float, met: object) -> None:
    """B.7a: aged exactly 55 is positive, 54 negative; "over 55" is a misprint of some summaries."""
    assert verdict(ottawa(age=age), "ottawa_knee") is met


@pytest.mark.parametrize(("deg", "met"), [(89, MET), (89.9, MET), (90, None), (91, None)])
def test_ottawa_b_takes_exactly_90_as_able(deg: float, met: object) -> None:
    """B.7b: bending to exactly 90 degrees is negative, 89 positive."""
    assert verdict(ottawa(active_flexion=deg), "ottawa_knee") is met


def test_a_knee_that_moves_freely_is_not_asked_whether_it_reaches_a_right_angle() -> None:
    """A range found normal answers; beside a reading that denies it the angle is asked for."""
    free = exam({"range_of_motion_limited": False}, mechanism=Mechanism.TWIST, days=1)
    stuck = exam({"range_of_motion_limited": False, "passive_flexion": 80}, mechanism=Mechanism.TWIST, days=1)
    for examination, asked in ((free, False), (stuck, True)):
        (alarm,) = [a for a in cannot_wait(examination, protocol=PROTOCOL) if a.rule == "ottawa_knee"]
        assert ("flexion_below_90" in {each.id for each in alarm.unknown}) is asked


@pytest.mark.parametrize("other", NO_BONE)
def test_ottawa_c_wants_the_patella_alone(other: str) -> None:
    """B.7c: a tender patella beside any other tender bone is not isolated."""
    assert verdict(ottawa(tenderness_patella=True), "ottawa_knee") is MET
    both = ottawa(tenderness_patella=True, **{other: True})
    expected = MET if other == "tenderness_fibular_head" else None  # that one is a criterion by itself
    assert verdict(both, "ottawa_knee") is expected


@pytest.mark.parametrize(
    ("then", "now", "met"),
    [(True, False, None), (False, True, None), (True, True, MET), (False, False, None)],
)
def test_ottawa_d_wants_both_times(then: bool, now: bool, met: object) -> None:
    """B.7d: unable at the scene but four limping steps in the department is negative."""
    said = {"unable_to_weight_bear_at_injury": then}
    examination = exam({**CLEAR, "unable_to_weight_bear": now}, said=said, days=1, mechanism=TWIST)
    assert verdict(examination, "ottawa_knee") is met


@pytest.mark.parametrize(("days", "met"), [(0, MET), (7, MET), (8, None), (30, None)])
def test_ottawa_e_ends_after_seven_days(days: float, met: object) -> None:
    """B.7e: injured 8 days ago, the rule is not applicable, whatever is found."""
    assert verdict(ottawa(days=days, active_flexion=40), "ottawa_knee") is met


@pytest.mark.parametrize(("age", "met"), [(4, None), (5, None), (5.9, None), (6, MET), (17, MET)])
def test_ottawa_begins_above_five_years(age: float, met: object) -> None:
    """Vijayasankar 2009 Emerg Med J 26:250: usable over 5 years of age, not at 5 and below."""
    assert verdict(ottawa(age=age, active_flexion=40), "ottawa_knee") is met


def test_a_negative_rule_says_nothing() -> None:
    """With every criterion known to be negative no fracture rule speaks."""
    assert verdict(ottawa(), "ottawa_knee") is None


def test_one_unexamined_bone_keeps_the_isolated_patella_open() -> None:
    """A tender patella with one other bone not felt is not yet isolated, and not yet excluded."""
    felt = {**CLEAR, "tenderness_patella": True}
    del felt["tenderness_tibial_tubercle"]
    assert verdict(exam(felt, days=1, mechanism=TWIST), "ottawa_knee") is OPEN


def test_acute_without_days_counts_in_an_emergency_department_only() -> None:
    """An acute injury of unknown day is within the window there; elsewhere a positive rule stays open."""
    found = {**CLEAR, "active_flexion": 40}
    here, there = (
        exam(found, acuity=Acuity.ACUTE, mechanism=TWIST, setting=setting)
        for setting in (Setting.EMERGENCY, Setting.PRIMARY_CARE)
    )
    assert verdict(here, "ottawa_knee") is MET
    assert verdict(there, "ottawa_knee") is OPEN


@pytest.mark.parametrize("item", ["intoxicated_or_reduced_consciousness", "pregnancy"])
def test_an_excluded_patient_moves_to_the_rule_that_clears_nobody(item: str) -> None:
    """A known exclusion (from memory) silences the rule and raises the one that asks for judgement."""
    examination = exam(CLEAR, said={item: True}, days=1, mechanism=TWIST)
    assert verdict(examination, "ottawa_knee") is None
    assert verdict(examination, "fracture_rule_not_usable") is MET
    unknown = exam({**CLEAR, "active_flexion": 40}, days=1, mechanism=TWIST)
    assert verdict(unknown, "ottawa_knee") is MET


def test_an_injury_of_the_other_knee_is_no_injury_of_this_one() -> None:
    """The age criterion of an injured right knee never makes the rule speak of the left."""
    examination = exam(CLEAR, days=1, age=70, mechanism=TWIST)
    assert verdict(examination, "ottawa_knee", RIGHT) is MET
    assert verdict(examination, "ottawa_knee", LEFT) is None


# Worked examples B.8: Seaberg 1994 Am J Emerg Med 12:541, 1998 Ann Emerg Med 32:8.


def pittsburgh(*, age: float, fall: bool = True, unable: bool = False, days: float = 1) -> Examination:
    """An acute injury as the Pittsburgh rule asks about it."""
    return exam(
        {"unable_to_weight_bear": unable},
        said={"fall_or_blunt_trauma": fall},
        mechanism=FALL if fall else TWIST,
        age=age,
        days=days,
    )


@pytest.mark.parametrize(
    ("examination", "met"),
    [
        (pittsburgh(age=60, fall=False), None),  # a
        (pittsburgh(age=50), None),  # b
        (pittsburgh(age=51), MET),  # b
        (pittsburgh(age=12), None),  # c
        (pittsburgh(age=11), MET),  # c
        (pittsburgh(age=30, unable=True), MET),  # d
        (pittsburgh(age=30), None),
        (pittsburgh(age=60, days=6), MET),
        (pittsburgh(age=60, days=7), None),
    ],
)
def test_pittsburgh_vignettes(examination: Examination, met: object) -> None:
    """B.8 a-d: a fall or blow, and below 12, above 50 or unable to take four steps, within 6 days."""
    assert verdict(examination, "pittsburgh_knee") is met


@pytest.mark.parametrize("item", ["previous_surgery", "previous_injury", "pregnancy"])
def test_pittsburgh_does_not_apply_to_a_knee_with_a_past(item: str) -> None:
    """An earlier injury or operation of the knee, or pregnancy, excludes the rule, once it is known."""
    said = {"fall_or_blunt_trauma": True, item: True}
    assert verdict(exam(said=said, mechanism=FALL, age=60, days=1), "pittsburgh_knee") is None


def test_a_knee_that_buckled_is_asked_whether_it_was_injured() -> None:
    """At 60 a criterion is met of a rule for injured knees, and nobody has said that this is one."""
    squat = Mechanism.SQUAT_OR_KNEEL
    said = {"unable_to_weight_bear_at_injury": False}
    bones = {**CLEAR, "tenderness_patella": False}
    buckled = exam(bones, age=60, days=1, mechanism=squat, said=said)
    (alarm,) = [a for a in cannot_wait(buckled, protocol=PROTOCOL) if a.rule == "ottawa_knee"]
    assert not alarm.is_met
    assert [each.ask for each in alarm.unknown] == ["ask about an injury, and when it was"]
