"""Published patients: no red flag goes unheard, and few quiet knees cry wolf."""

from collections.abc import Callable

import pytest

from fabella.flags import Alarm, Urgency, Verdict, cannot_wait
from tests.flags.build import PROTOCOL
from tests.flags.published import Case, load_cases

CASES = load_cases()
LOUD = {Urgency.NOW, Urgency.SAME_DAY}
MOST_FALSE_ALARMS = 0.15


def met(case: Case) -> tuple[Alarm, ...]:
    """The met alarms of a published patient."""
    alarms = cannot_wait(case.examination, protocol=PROTOCOL)
    return tuple(alarm for alarm in alarms if alarm.verdict is Verdict.MET)


# The rule that a clinician would name for each dangerous published patient (our reading of the diagnosis).
EXPECTED = {
    "C022": "vascular_injury",  # popliteal artery injury, Emerg Med J 2004;21:635
    "C053": "tender_bone_not_weight_bearing",  # tibial plateau fracture
    "C077": "septic_joint_child",  # septic prepatellar bursitis at 11 years
    "C082": "tumour_bone_young",  # chondroblastoma at 15 years
    "C093": "child_hip",  # slipped upper femoral epiphysis at 11 years
}


def test_every_red_flag_case_is_named() -> None:
    """The list of expected rules covers exactly the cases marked as red flags."""
    assert set(EXPECTED) == {case.id for case in CASES if case.red_flag}


@pytest.mark.parametrize("case", [case for case in CASES if case.red_flag], ids=lambda case: case.id)
def test_a_red_flag_is_met(case: Case) -> None:
    """Every red-flag patient raises a met alarm, and it is the right one."""
    assert EXPECTED[case.id] in {alarm.rule for alarm in met(case)}


@pytest.mark.parametrize("case_id", ["C034", "C035", "C037", "C038"])
def test_every_extensor_rupture_is_met(case_id: str) -> None:
    """Four published ruptures of the quadriceps or patellar tendon raise the extensor rule."""
    (case,) = [case for case in CASES if case.id == case_id]
    assert "extensor_rupture" in {alarm.rule for alarm in met(case)}


def test_quiet_knees_stay_quiet(record_property: Callable[[str, object], None]) -> None:
    """Of patients neither red-flagged nor urgent at most 15 % get a met alarm for now or the same day."""
    quiet = [case for case in CASES if not case.red_flag and not case.urgent]
    loud = {case.id: [a.rule for a in met(case) if a.urgency in LOUD] for case in quiet}
    false_alarms = {case_id: rules for case_id, rules in loud.items() if rules}
    record_property("quiet", len(quiet))
    record_property("false_alarms", false_alarms)
    assert len(false_alarms) <= MOST_FALSE_ALARMS * len(quiet), false_alarms
    # Regression: the one of 13 is a fracture (bent to 60 degrees only), so the alarm is not even false.
    assert false_alarms == {"C012": ["ottawa_knee"]}


def test_the_first_visit_of_a_missed_hip_stays_open() -> None:
    """Medical Protection casebook 2018: knee examined, hip not; the rule of the hip cannot be excluded."""
    (case,) = [case for case in CASES if case.id == "C093"]
    (side,) = case.examination.context.complained_of
    first = case.examination.without("hip_rotation_reduced", side).without("hip_flexion_reduced", side)
    alarms = {a.rule: a for a in cannot_wait(first, protocol=PROTOCOL) if a.side is side}
    assert alarms["child_hip"].verdict is Verdict.CANNOT_BE_EXCLUDED
    assert any("internal rotation of both hips" in each.ask for each in alarms["child_hip"].unknown)
