"""Fifty invented patients, written as a consultant records them and judged before the program was run.

Most of their findings are normal, on both knees. When the chain read them for the first time, an accepted
lesion came first in 48 and among the first three in 50. One urgent matter was missed (an insufficiency
fracture), three alarms were false (tumour after a reconstruction of the cruciate, tumour behind a stiff warm
joint, leukaemia beside a slipped hip), and six rules stayed open in five knees where nobody would have asked.
These faults have since been mended on principle, so that this is no clean test any more. One judge, who knows
the program: it shows that a colleague is not contradicted, not how often the program is right.
"""

from functools import cache

from fabella.anatomy import Side, other
from fabella.flags import Urgency, Verdict
from fabella.record import State
from fabella.workup import Workup, run_workup
from tests.fifty_patients import Expected, patients

NOTHING_BELOW = 0.35
SAME_MATTER = {("b4", "tumour_bone_pain"), ("d4", "prolonged_stiffness"), ("g3", "fracture_rule_not_usable")}
"""Met beside another rule of the same matter: not written down as expected, and no fault."""
BEHIND = {"c2", "d5"}
"""Where a worn joint, which is there as well, comes before what brought the patient."""
FREE_DEG = 120.0


@cache
def worked_up() -> tuple[tuple[Expected, Workup], ...]:
    """Every patient with what the chain makes of it."""
    return tuple((each, run_workup(each.examination)) for each in patients())


def likeliest(workup: Workup, side: Side) -> list[tuple[str, float]]:
    """The three likeliest lesions of a knee."""
    assert workup.conclusion is not None
    return [(each.lesion, each.probability) for each in workup.conclusion.knee(side).any_level()[:3]]


def test_the_lesion_that_was_expected_is_named() -> None:
    """Among the first three everywhere, and first but for two knees worn as well; nothing in sound ones."""
    assert len(patients()) == 50
    behind = set()
    for expected, workup in worked_up():
        told = likeliest(workup, expected.side)
        if "none" in expected.first and told[0][1] < NOTHING_BELOW:
            continue
        assert expected.first & {lesion for lesion, _ in told}, (expected.examination.id, told)
        if told[0][0] not in expected.first:
            behind.add(expected.examination.id)
    assert behind <= BEHIND


def test_what_cannot_wait_is_met_and_nothing_else() -> None:
    """Every urgent matter that was written down; no other alarm beyond routine ones."""
    missed, false = set(), set()
    for expected, workup in worked_up():
        patient = expected.examination.id
        met = {
            each.rule for each in workup.alarms if each.verdict is Verdict.MET and not _can_wait(each.urgency)
        }
        missed |= {(patient, *sorted(one_of)) for one_of in expected.must if not one_of & met}
        false |= {(patient, rule) for rule in met - expected.may}
    assert not missed
    assert false <= SAME_MATTER


def _can_wait(urgency: Urgency) -> bool:
    return urgency is Urgency.ROUTINE_BUT_DO_NOT_MISS


def test_nothing_of_this_hour_stays_open_in_a_knee_that_was_examined() -> None:
    """But in three that were out of joint, or may have been; and sepsis where nobody took the pulse.

    Three are feverish with an infected joint, and neither pulse nor breathing nor pressure is on record.
    """
    unsettled = {
        (expected.examination.id, each.rule == "sepsis")
        for expected, workup in worked_up()
        for each in workup.alarms
        if each.verdict is not Verdict.MET and each.urgency is Urgency.NOW
    }
    assert {patient for patient, septic in unsettled if not septic} <= {"g1", "g2", "g3"}
    assert {patient for patient, septic in unsettled if septic} == {"b6", "c7", "d4"}


def test_a_sound_knee_that_nobody_complains_of_stays_sound() -> None:
    """Where the other knee moves freely and shows nothing abnormal, no lesion is told of it."""
    sound = 0
    for expected, workup in worked_up():
        assert workup.conclusion is not None
        beyond = other(expected.side)
        knee = workup.conclusion.knee(beyond)
        there = [each for each in expected.examination.findings if each.side is beyond]
        bends = [each.value for each in there if each.value is not None and each.sign == "passive_flexion"]
        if knee.symptomatic or min(bends, default=0) < FREE_DEG:
            continue
        if any(each.state is State.ABNORMAL for each in there):
            continue
        sound += 1
        assert knee.nothing_listed > 0.9, (expected.examination.id, knee.nothing_listed)
    assert sound > 25
