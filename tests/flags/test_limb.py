"""The limb at risk and the mechanism of the knee, at the edges of their rules."""

import pytest

from fabella.flags import cannot_wait
from fabella.flags.knee import Knee
from fabella.flags.laxity import two_ligament_groups
from fabella.flags.logic import Truth
from fabella.record import ImageKind, Mechanism, ProcedureName
from tests.flags.build import LEFT, MET, OPEN, PROTOCOL, RIGHT, Found, exam, finding, verdict
from tests.flags.examples import GOOD_FOOT

TWIST, NONE = Mechanism.TWIST, Mechanism.INSIDIOUS


@pytest.mark.parametrize(("index", "met"), [(0.89, MET), (0.90, None), (1.1, None)])
def test_the_index_counts_below_0_90(index: float, met: object) -> None:
    """Mills 2004 J Trauma 56:1261: below 0.90 is abnormal, 0.90 itself is not."""
    foot = {**GOOD_FOOT, "ankle_brachial_index": index}
    assert verdict(exam(foot, said={"dislocation_reported": True}, days=0), "vascular_injury") is met


def test_normal_pulses_do_not_exclude_an_arterial_injury() -> None:
    """Boyce 2015: after a dislocation with normal pulses the rule stays open until the index is known."""
    dislocated = exam({"distal_pulses": "normal"}, said={"dislocation_reported": True}, days=0)
    (alarm,) = [a for a in cannot_wait(dislocated, protocol=PROTOCOL) if a.rule == "vascular_injury"]
    assert alarm.verdict is OPEN
    assert "index_below_0_90" in {each.id for each in alarm.unknown}
    assert "do not exclude" in alarm.action


def test_pulses_never_reassure_about_a_compartment() -> None:
    """BOA standard 2014: pulses are normally present; pain out of proportion alone calls for review now."""
    tight = exam(GOOD_FOOT, said={"pain_out_of_proportion": True}, days=0, mechanism=Mechanism.HIGH_ENERGY)
    assert verdict(tight, "compartment_syndrome") is MET


@pytest.mark.parametrize(
    ("found", "lax"),
    [
        ({"lachman": "2+", "posterior_drawer": "2+"}, True),
        ({"lachman": True, "posterior_drawer": True}, True),
        ({"lachman": "2+", "varus_stress_30": "2+"}, True),
        ({"lachman": "2+", "valgus_stress_0": "2+"}, True),
        ({"lachman": "2+", "valgus_stress_30": "3+"}, True),
        ({"lachman": True, "valgus_stress_30": True}, None),  # the common sprain, not graded
        ({"lachman": "2+"}, None),
        (
            {
                "lachman": "3+",
                "posterior_drawer": "0",
                "varus_stress_30": "0",
                "valgus_stress_30": "2+",
                "valgus_stress_0": "0",
            },
            False,
        ),
        ({"lachman": "1+", "posterior_drawer": "1+", "varus_stress_30": "0", "valgus_stress_30": "0"}, False),
        ({"ligament_laxity_any": False}, False),
    ],
)
def test_two_ligament_groups(found: dict[str, Found], lax: Truth) -> None:
    """Boyce 2015 with recalled ligament criteria: two clear groups, never a mere medial sprain."""
    assert two_ligament_groups(Knee(exam(found), RIGHT, PROTOCOL)) is lax


@pytest.mark.parametrize(("there", "lax"), [(0.0, True), (6.0, None)])
def test_laxity_in_millimetres_is_against_the_other_knee(there: float, lax: Truth) -> None:
    """Readings count as clear from 6 mm more than the other knee; with 4 mm more the group is not lax."""
    examination = exam({"lachman": 10.0, "posterior_drawer": "2+"}, {"lachman": there})
    assert two_ligament_groups(Knee(examination, RIGHT, PROTOCOL)) is lax


@pytest.mark.parametrize(
    ("here", "there", "met"), [(25, 0, MET), (25, 25, None), (14, 0, None), (15, 5, MET)]
)
def test_hyperextension_of_both_knees_is_build(here: float, there: float, met: object) -> None:
    """A supple patient who hyperextends both knees alike has no dislocation (as in case C005)."""
    stable: dict[str, Found] = {"ligament_laxity_any": False, "dimple_sign": False, "passive_extension": here}
    examination = exam(
        stable, {"passive_extension": there}, said={"dislocation_reported": False}, days=0, mechanism=TWIST
    )
    assert verdict(examination, "knee_dislocation") is met


@pytest.mark.parametrize(("days", "met"), [(14, MET), (15, None)])
def test_a_dislocation_is_an_alarm_for_two_weeks(days: float, met: object) -> None:
    """Later the ligaments alone ask for a surgeon, within two weeks."""
    lax: dict[str, Found] = {"lachman": "2+", "posterior_drawer": "2+"}
    examination = exam(lax, days=days, mechanism=TWIST)
    assert verdict(examination, "knee_dislocation") is met
    assert verdict(examination, "multiligament_injury") is MET


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        ({"straight_leg_raise": "unable"}, MET),
        ({"straight_leg_raise": "lag"}, MET),
        ({"active_knee_extension": "weak"}, MET),
        ({"extensor_lag": 10}, MET),
        ({"extensor_lag": 9}, OPEN),
        ({"straight_leg_raise": "able"}, None),
        ({"active_knee_extension": "full"}, None),
        ({"straight_leg_raise": "able", "active_knee_extension": "weak"}, None),
        ({"straight_leg_raise": "able", "extensor_lag": 20}, OPEN),  # the two do not go together
        ({"active_knee_extension": "unable"}, MET),
        ({"knee_extension_strength": "2"}, MET),
        ({"palpable_gap_patellar_tendon": True}, MET),
        ({"straight_leg_raise": "able", "palpable_gap_quadriceps": True}, MET),
        ({}, OPEN),
    ],
)
def test_every_injured_knee_lifts_its_heel(found: dict[str, Found], expected: object) -> None:
    """Inability, a lag or a gap is met; a leg raised straight answers; one never raised stays open.

    Teaching case, EXTENSOR 1: cannot raise the straight leg or hold extension against gravity.
    """
    assert verdict(exam(found, days=0, mechanism=Mechanism.FALL_ON_KNEE), "extensor_rupture") is expected


def test_an_untestable_straight_leg_raise_stays_open() -> None:
    """Pain that forbids the test proves nothing either way."""
    examination = exam(days=0, mechanism=Mechanism.FALL_ON_KNEE)
    assert verdict(examination, "extensor_rupture") is OPEN
    assert (
        verdict(
            examination.with_finding(finding("straight_leg_raise", LEFT, "unable")), "extensor_rupture", LEFT
        )
        is MET
    )


def test_mere_pain_is_no_locking() -> None:
    """Catching, pain at the end of extension and a painful click raise no alarm of a locked knee."""
    said = {"catching": True, "painful_click": True, "locking": False}
    sore = exam(
        {"forced_extension_pain": True, "block_to_extension": "none"}, said=said, days=3, mechanism=TWIST
    )
    assert verdict(sore, "locked_knee") is None


def test_old_stiffness_is_no_locking() -> None:
    """A rigid stop in a chronically worn knee of 60 that never locked is contracture."""
    worn = exam(
        {"block_to_extension": "rigid"},
        age=60,
        days=2000,
        said={"locking": False},
        mechanism=Mechanism.INSIDIOUS,
    )
    assert verdict(worn, "locked_knee") is None


COLD: dict[str, Found] = {"distal_pulses": "absent", "cool_foot": True, "peroneal_sensation": True}


@pytest.mark.parametrize("fellow", ["normal", "weak", "absent"])
def test_a_foot_that_lost_its_pulses_lately_is_an_emergency_whatever_the_other(fellow: str) -> None:
    """Who loses a leg's blood supply in a day often has poor pulses in the other leg (common practice)."""
    assert verdict(exam(COLD, {"distal_pulses": fellow}, age=72, days=0.5), "ischaemic_foot") is MET


def test_poor_pulses_of_years_in_both_feet_are_no_emergency() -> None:
    """They are when nobody has told since when, until that is asked; beside a good foot they always are."""
    fellow: dict[str, Found] = {"distal_pulses": "weak"}
    painless = {"rest_pain": False, "night_pain": False}
    assert verdict(exam(COLD, fellow, said=painless, age=72, days=400), "ischaemic_foot") is None
    assert verdict(exam(COLD, fellow, said={"night_pain": True}, age=72, days=400), "ischaemic_foot") is MET
    assert verdict(exam(COLD, fellow, age=72), "ischaemic_foot") is OPEN
    assert verdict(exam(COLD, {"distal_pulses": "normal"}, age=72, days=400), "ischaemic_foot") is MET


def test_a_weak_pulse_in_a_cool_foot_leaves_it_open_whether_there_is_one() -> None:
    """A pulse that is barely felt in a cold foot may be the examiner's own (common practice)."""
    faint: dict[str, Found] = {"distal_pulses": "weak", "cool_foot": True}
    assert verdict(exam(faint, age=67, days=30), "ischaemic_foot") is OPEN
    assert verdict(exam({"distal_pulses": "weak"}, age=67, days=30), "ischaemic_foot") is None
    assert verdict(exam({"distal_pulses": "weak", "cool_foot": False}, age=67), "ischaemic_foot") is None


def test_a_mass_that_took_the_blood_of_the_foot_need_not_pulsate() -> None:
    """An aneurysm full of clot does not pulsate, and may be known by the foot below it (common practice)."""
    rule = "popliteal_aneurysm"
    for poor in ({"distal_pulses": "weak"}, {"distal_pulses": "absent"}, {"cool_foot": True}):
        assert verdict(exam({"popliteal_mass": True, "popliteal_pulsation": False, **poor}), rule) is MET
        assert verdict(exam({"popliteal_mass": True, **poor}), rule) is MET
        assert verdict(exam({"popliteal_mass": False, **poor}), rule) is None
    warm: dict[str, Found] = {"distal_pulses": "normal", "cool_foot": False}
    assert verdict(exam({"popliteal_mass": True, "popliteal_pulsation": False, **warm}), rule) is None


MASS: dict[str, Found] = {"popliteal_mass": True, "popliteal_pulsation": False}
FAINT: dict[str, Found] = {"distal_pulses": "weak", "cool_foot": True}


def test_a_cool_foot_with_weak_pulses_below_a_mass_is_an_emergency_and_rings_once() -> None:
    """An aneurysm that clots can take the foot: now, not in 48 hours (common practice)."""
    painless = {"rest_pain": False, "night_pain": False}
    for lost in (FAINT, {**FAINT, "distal_pulses": "absent"}):
        for mass in (MASS, {"popliteal_pulsation": True}):
            leg = exam({**mass, **lost}, {"distal_pulses": "weak"}, said=painless, age=74, days=60)
            assert verdict(leg, "ischaemic_foot") is MET
            assert verdict(leg, "popliteal_aneurysm") is None
            assert verdict(leg, "tumour_mass") is None
            (alarm,) = [each for each in cannot_wait(leg, protocol=PROTOCOL) if each.rule == "ischaemic_foot"]
            assert [each.deed for each in alarm.withholds] == ["aspiration"]
    shown = exam(
        FAINT, said=painless, age=74, days=60, imaged={ImageKind.ULTRASOUND: ("popliteal_artery_disease",)}
    )
    assert verdict(shown, "ischaemic_foot") is MET
    assert verdict(shown, "artery_disease_shown") is None


def test_a_warm_foot_below_a_mass_can_wait_for_the_scan() -> None:
    """Weak pulses in a warm foot ask for a scan within two days, and for nothing now."""
    warm: dict[str, Found] = {**MASS, "distal_pulses": "weak", "cool_foot": False}
    leg = exam(warm, {"distal_pulses": "weak"}, said={"night_pain": False}, age=70, days=1500)
    assert verdict(leg, "popliteal_aneurysm") is MET
    assert verdict(leg, "ischaemic_foot") is None


def test_two_cool_feet_are_the_weather() -> None:
    """Feet that were both cool for long make no aneurysm of a cyst, and no emergency of weak pulses."""
    cold: dict[str, Found] = {"cool_foot": True}
    good: dict[str, Found] = {**MASS, "distal_pulses": "normal"}
    assert verdict(exam({**good, **cold}, cold, age=52, days=200), "popliteal_aneurysm") is None
    assert verdict(exam({"popliteal_mass": True, **cold}, cold, age=52), "popliteal_aneurysm") is OPEN
    both = exam(FAINT, FAINT, said={"night_pain": True}, age=72, days=1800)
    assert [verdict(both, "ischaemic_foot", side) for side in (RIGHT, LEFT)] == [None, None]
    assert verdict(exam(FAINT, FAINT, age=72, days=1), "ischaemic_foot") is OPEN


def test_a_cold_foot_of_which_nobody_felt_the_pulses_asks_for_them_now() -> None:
    """One cool foot, or one lately cool and numb or weak: pulses first, and no two weeks for the weakness."""
    weak: dict[str, Found] = {"cool_foot": True, "foot_drop": "weak"}
    lost = exam(weak, age=72, days=0.5, mechanism=NONE)
    assert verdict(lost, "ischaemic_foot") is OPEN
    assert verdict(lost, "foot_drop_without_injury") is None
    alone = exam({"cool_foot": True}, {"cool_foot": False}, age=72, days=60)
    assert verdict(alone, "ischaemic_foot") is OPEN
    palsy = exam(weak, {"cool_foot": False}, age=40, days=200, mechanism=NONE)
    assert verdict(palsy, "foot_drop_without_injury") is MET
    for felt in ("distal_pulses", "distal_neurovascular"):
        assert verdict(exam({"cool_foot": True, felt: False}, {"cool_foot": False}), "ischaemic_foot") is None
    assert verdict(exam({"cool_foot": True}, {"cool_foot": True}, days=200), "ischaemic_foot") is None


def test_a_foot_short_of_blood_rings_under_one_rule() -> None:
    """Now is not followed by today, nor an operation by "without injury"."""
    young = exam(
        COLD, {"distal_pulses": "normal"}, said={"calf_pain": True, "activity_pain": True}, age=33, days=56
    )
    assert verdict(young, "ischaemic_foot") is MET
    assert verdict(young, "young_leg_without_pulses") is None
    replaced = (ProcedureName.TOTAL_KNEE_REPLACEMENT, 1)
    operated = exam(COLD, {"distal_pulses": "normal"}, age=70, days=2000, operated=replaced)
    assert verdict(operated, "vascular_injury") is MET
    assert verdict(operated, "ischaemic_foot") is None


def test_no_needle_where_an_injured_artery_may_lie_behind_the_knee() -> None:
    """A wide pulse, and weak ones below it, after an injury: an injured artery, and no needle."""
    leg = exam({"popliteal_pulsation": True, **FAINT}, age=40, days=3, mechanism=TWIST)
    met = {each.rule: each for each in cannot_wait(leg, protocol=PROTOCOL) if each.is_met}
    assert "popliteal_aneurysm" not in met
    assert [each.deed for each in met["vascular_injury"].withholds] == ["aspiration"]


@pytest.mark.parametrize("loss", ["foot_drop", "peroneal_sensation", "tibial_nerve_sensation"])
def test_a_tense_leg_with_a_weak_or_numb_foot_needs_no_injury(loss: str) -> None:
    """A bleed, a ruptured cyst or a long lie fill a compartment too (common practice)."""
    lost: dict[str, Found] = {loss: "weak" if loss == "foot_drop" else True}
    leg = exam({"compartment_tense": True, **lost}, age=69, mechanism=NONE)
    assert verdict(leg, "compartment_syndrome") is MET
    assert verdict(exam(lost, age=69, mechanism=NONE), "compartment_syndrome") is None
    assert verdict(exam({"compartment_tense": True}, age=69, mechanism=NONE), "compartment_syndrome") is OPEN


def test_weakness_and_rest_pain_of_a_leg_in_danger_ask_for_nothing_slower() -> None:
    """A foot that drops for want of blood, or in a tight leg, is no matter of two weeks, nor a tumour."""
    tight: dict[str, Found] = {
        "foot_drop": "weak",
        "compartment_tense": True,
        "passive_toe_stretch_pain": True,
    }
    cold: dict[str, Found] = {**COLD, "foot_drop": "weak"}
    for found, rule in ((tight, "compartment_syndrome"), (cold, "ischaemic_foot")):
        leg = exam(
            found, {"distal_pulses": "normal"}, said={"rest_pain": True}, age=21, days=0.5, mechanism=NONE
        )
        assert verdict(leg, rule) is MET
        assert verdict(leg, "foot_drop_without_injury") is None
        assert verdict(leg, "tumour_bone_young") is None
        assert verdict(leg, "tumour_bone_pain") is None
    both = exam({"foot_drop": "weak"}, said={"bladder_or_saddle_symptoms": True}, age=44, mechanism=NONE)
    assert verdict(both, "cauda_equina", None) is MET
    assert verdict(both, "foot_drop_without_injury") is None
    alone = exam({"foot_drop": "weak"}, said={"rest_pain": True}, age=21, days=0.5, mechanism=NONE)
    assert verdict(alone, "foot_drop_without_injury") is MET
    assert verdict(alone, "tumour_bone_young") is MET


WOUND: dict[str, Found] = {"open_wound": True}
BROKEN = {ImageKind.RADIOGRAPH: ("tibial_plateau_fracture",)}


def test_a_wound_over_a_broken_bone_is_an_open_fracture() -> None:
    """BOAST open fractures, from memory: shown, out of shape, or tender in a leg that cannot carry."""
    rule, crash = "open_fracture", Mechanism.HIGH_ENERGY
    assert verdict(exam(WOUND, days=0, mechanism=crash, imaged=BROKEN), rule) is MET
    assert verdict(exam({**WOUND, "deformity": True}, days=0, mechanism=crash), rule) is MET
    tender: dict[str, Found] = {**WOUND, "bony_tenderness": True}
    assert verdict(exam({**tender, "unable_to_weight_bear": True}, days=0, mechanism=crash), rule) is MET
    walks: dict[str, Found] = {**tender, "unable_to_weight_bear": False, "deformity": False}
    assert verdict(exam(walks, days=0, mechanism=crash), rule) is None
    assert verdict(exam(WOUND, days=0, mechanism=crash), rule) is None
    assert verdict(exam({**tender, "unable_to_weight_bear": True}, days=60, mechanism=crash), rule) is None


@pytest.mark.parametrize(("days", "expected"), [(0, OPEN), (3, OPEN), (4, None), (None, OPEN)])
def test_a_broken_plateau_asks_about_the_compartments_for_three_days(
    days: float | None, expected: object
) -> None:
    """Nobody asked about pain out of proportion: it is asked; other fractures of the knee do not."""
    crash = Mechanism.HIGH_ENERGY
    assert verdict(exam(days=days, mechanism=crash, imaged=BROKEN), "compartment_syndrome") is expected
    patella = {ImageKind.RADIOGRAPH: ("patellar_fracture",)}
    assert verdict(exam(days=1, mechanism=crash, imaged=patella), "compartment_syndrome") is None


def test_two_weak_feet_below_a_sore_back_are_a_matter_of_the_spine() -> None:
    """One weak foot, or two numb ones, ask about the bladder; an old weakness does not."""
    back, weak, numb = {"back_pain": True}, {"foot_drop": True}, {"peroneal_sensation": True}
    assert verdict(exam(weak, weak, said=back), "cauda_equina", None) is MET
    assert verdict(exam(weak, said=back), "cauda_equina", None) is OPEN
    assert verdict(exam(numb, numb, said=back), "cauda_equina", None) is OPEN
    assert verdict(exam(numb, said=back), "cauda_equina", None) is None
    assert verdict(exam(weak, weak), "cauda_equina", None) is None
    dry = {**back, "bladder_or_saddle_symptoms": False}
    assert verdict(exam(weak, {"foot_drop": False}, said=dry), "cauda_equina", None) is None
    assert verdict(exam(weak, said={**back, "old_nerve_loss": True}), "cauda_equina", None) is None
