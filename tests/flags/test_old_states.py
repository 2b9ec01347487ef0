"""States that are old, undated, or of something else than the alarm is for."""

import pytest

from fabella.flags import cannot_wait
from fabella.record import Acuity, Answer, Mechanism, ProcedureName
from tests.flags.build import LEFT, MET, OPEN, PROTOCOL, RIGHT, Found, exam, verdict
from tests.flags.examples import WELL

NONE, TWIST = Mechanism.INSIDIOUS, Mechanism.TWIST
TIGHT: dict[str, Found] = {"compartment_tense": True, "passive_toe_stretch_pain": True}
ON_EXERTION: dict[str, Answer] = {"activity_pain": True, "rest_pain": False}


@pytest.mark.parametrize(
    ("said", "days", "expected"),
    [
        (ON_EXERTION, 60, None),
        (ON_EXERTION, 15, None),
        (ON_EXERTION, 14, MET),
        (ON_EXERTION, None, MET),
        ({"activity_pain": True}, 60, OPEN),
        ({}, 60, OPEN),
        ({**ON_EXERTION, "night_pain": True}, 60, MET),
        ({**ON_EXERTION, "rest_pain": True}, 60, MET),
        ({**ON_EXERTION, "pain_out_of_proportion": True}, 60, MET),
    ],
)
def test_two_tight_calves_of_a_runner_are_no_emergency_once_known_to_be_quiet_at_rest(
    said: dict[str, Answer], days: float | None, expected: object
) -> None:
    """Acute pressure is a matter of hours to days; of unknown age it rings, unasked about rest it is open."""
    runner = exam(TIGHT, TIGHT, said=said, days=days, age=24, mechanism=NONE, complaint=(RIGHT, LEFT))
    assert verdict(runner, "compartment_syndrome", RIGHT) is expected
    assert verdict(runner, "compartment_syndrome", LEFT) is expected


def test_a_tight_leg_of_a_runner_rings_after_an_injury_an_operation_or_with_a_weak_foot() -> None:
    """What is new beside the old pain is what counts."""
    rule = "compartment_syndrome"
    assert verdict(exam(TIGHT, said=ON_EXERTION, days=20, mechanism=TWIST), rule) is MET
    weak: dict[str, Found] = {**TIGHT, "foot_drop": "weak"}
    assert verdict(exam(weak, said=ON_EXERTION, days=60, mechanism=NONE), rule) is MET
    lately = exam(TIGHT, said=ON_EXERTION, days=400, operated=(ProcedureName.FRACTURE_FIXATION, 2))
    assert verdict(lately, rule) is MET


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ({"anticoagulant": True}, {}),
        ({"bleeding_disorder": True}, {}),
        ({}, {"posterior_swelling": True}),
        ({}, {"whole_leg_swollen": True}),
    ],
)
@pytest.mark.parametrize("asked", [ON_EXERTION, {}])
def test_a_tight_calf_beside_an_old_pain_on_walking_rings_where_it_may_bleed_or_burst(
    said: dict[str, Answer], found: dict[str, Found], asked: dict[str, Answer]
) -> None:
    """The days are those of the worn knee; the bleed or the burst cyst is of today (common practice)."""
    worn = exam({**TIGHT, **found}, said={**asked, **said}, days=400, age=70, mechanism=NONE)
    assert verdict(worn, "compartment_syndrome") is MET


def test_pulses_lost_below_a_wound_ring_though_the_other_foot_has_none() -> None:
    """Absent pulses are a hard sign of an injured artery (common practice); after a twist they may be old."""
    none: dict[str, Found] = {"distal_pulses": "absent"}
    for mechanism, expected in ((Mechanism.PENETRATING, MET), (Mechanism.HIGH_ENERGY, MET), (TWIST, OPEN)):
        hurt = exam(none, none, days=1, age=75, mechanism=mechanism)
        assert verdict(hurt, "vascular_injury") is expected
    stabbed = exam(none, none, days=1, age=75, mechanism=TWIST, said={"penetrating_injury": True})
    assert verdict(stabbed, "vascular_injury") is MET


def test_the_open_rule_asks_about_rest_and_the_exertional_leg_is_sent_for_pressures() -> None:
    """What is left of it is the slow matter: pressures after exercise, and the pinched artery."""
    runner = exam(TIGHT, said={"activity_pain": True}, days=60, age=24, mechanism=NONE)
    (alarm,) = [a for a in cannot_wait(runner, protocol=PROTOCOL) if a.rule == "compartment_syndrome"]
    assert [each.id for each in alarm.unknown] == ["pain_out_of_proportion", "at_rest"]
    assert "at rest, or on exertion only" in alarm.unknown[-1].ask
    assert verdict(runner, "popliteal_entrapment") is MET


@pytest.mark.parametrize(("old", "expected"), [(True, None), (False, MET), (None, MET)])
def test_a_foot_drop_of_many_years_unchanged_does_not_ring(old: bool | None, expected: object) -> None:
    """Of unknown age it counts as new, and the rule asks since when."""
    said: dict[str, Answer] = {} if old is None else {"old_nerve_loss": old}
    foot = exam({"foot_drop": "absent"}, said=said, age=48, days=30, mechanism=NONE)
    assert verdict(foot, "foot_drop_without_injury") is expected
    asked = [each.id for a in cannot_wait(foot, protocol=PROTOCOL) for each in a.unknown]
    assert ("not_of_old" in asked) is (old is None)


@pytest.mark.parametrize(("old", "expected"), [(True, None), (None, MET)])
def test_an_old_foot_drop_is_not_laid_to_a_new_injury_or_operation(
    old: bool | None, expected: object
) -> None:
    """After a suspected dislocation it stays open all the same: who compares it, must see it."""
    said: dict[str, Answer] = {} if old is None else {"old_nerve_loss": old}
    found: dict[str, Found] = {"foot_drop": "absent", "peroneal_sensation": True}
    assert verdict(exam(found, said=said, days=1, mechanism=TWIST), "nerve_injury") is expected
    operated = exam(found, said=said, days=600, operated=(ProcedureName.TOTAL_KNEE_REPLACEMENT, 20))
    assert verdict(operated, "nerve_after_operation") is expected
    out = exam(found, said={**said, "dislocation_reported": True}, days=1, mechanism=TWIST)
    assert verdict(out, "nerve_injury") is (OPEN if old else MET)


def test_feet_numb_for_years_say_nothing_of_their_blood_or_of_a_tight_leg() -> None:
    """The numb feet of a diabetic; cold ones still do."""
    found: dict[str, Found] = {"distal_pulses": "absent", "peroneal_sensation": True, "cool_foot": False}
    there: dict[str, Found] = {"distal_pulses": "normal"}
    new = exam(found, there, days=200, age=70)
    assert verdict(new, "ischaemic_foot") is MET
    old = exam(found, there, days=200, age=70, said={"old_nerve_loss": True})
    assert verdict(old, "ischaemic_foot") is OPEN
    cold = exam({**found, "cool_foot": True}, there, days=200, age=70, said={"old_nerve_loss": True})
    assert verdict(cold, "ischaemic_foot") is MET


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ({"night_pain": True}, MET),
        ({"night_pain": True, "pain_medial": True}, OPEN),
        ({"night_pain": True, "pain_medial": True, "foot_pain_at_night": True}, MET),
        ({"night_pain": True, "foot_pain_at_night": False}, None),
        ({"foot_pain_at_night": True}, MET),
        ({"rest_pain": False, "night_pain": False}, None),
    ],
)
def test_pain_at_night_counts_for_the_foot_when_it_is_of_the_foot(
    said: dict[str, Answer], expected: object
) -> None:
    """Rest pain for want of blood is felt in toes and forefoot and eased by hanging the leg down."""
    cold: dict[str, Found] = {"distal_pulses": "absent", "cool_foot": True}
    there: dict[str, Found] = {"distal_pulses": "absent"}
    assert verdict(exam(cold, there, said=said, days=300, age=74), "ischaemic_foot") is expected


INFLAMED: dict[str, Found] = {"warmth": "hot", "effusion": "moderate", "range_of_motion_limited": True}


@pytest.mark.parametrize(
    ("mechanism", "days", "expected"),
    [(NONE, None, MET), (None, None, MET), (TWIST, None, None), (NONE, 15, MET), (NONE, 3, None)],
)
def test_a_hot_swollen_stiff_knee_that_nobody_dated_waits_two_days_at_most(
    mechanism: Mechanism | None, days: float | None, expected: object
) -> None:
    """It is new, and septic until disproved, or it has lasted: one of two rules holds, the slower is sure."""
    knee = exam(INFLAMED, age=31, days=days, mechanism=mechanism)
    assert verdict(knee, "hot_knee_that_lasts") is expected
    if mechanism is not TWIST and days is None:
        assert verdict(knee, "septic_joint_adult") is OPEN


@pytest.mark.parametrize(("inwards", "expected"), [(10, MET), (35, OPEN), (None, MET)])
def test_a_short_leg_points_to_a_childs_hip_unless_it_turns_inwards_freely(
    inwards: float | None, expected: object
) -> None:
    """A slipped or a sick femoral head takes internal rotation first (common practice)."""
    found: dict[str, Found] = {"leg_length_difference": -2.0}
    if inwards is not None:
        found["hip_internal_rotation"] = inwards
    assert verdict(exam(found, age=12, days=60, mechanism=NONE), "child_hip") is expected


@pytest.mark.parametrize(
    ("days", "said", "expected"),
    [
        (None, {"weight_loss": True}, MET),
        (None, {"fever": True}, OPEN),
        (3, {"weight_loss": True}, None),
        (20, {"fever": True}, MET),
    ],
)
def test_who_has_lost_weight_has_not_been_ill_for_days(
    days: float | None, said: dict[str, Answer], expected: object
) -> None:
    """Undated pain beside a loss of weight counts as one of weeks (judgement)."""
    assert verdict(exam(said=said, age=17, days=days, mechanism=NONE), "illness_young") is expected


@pytest.mark.parametrize("risk", ["injects_drugs", "diabetes"])
def test_who_injects_drugs_is_at_risk_of_a_septic_joint(risk: str) -> None:
    """Coakley 2006: intravenous drug use is among the risk factors; nobody is asked it to be cleared."""
    found: dict[str, Found] = {"effusion": "moderate", "warmth": "warm", "range_of_motion_limited": False}
    rule = "septic_joint_adult"
    assert verdict(exam(found, age=33, days=3, mechanism=NONE, said={risk: True}), rule) is MET
    asked = ("diabetes", "immunosuppressed", "skin_infection", "penetrating_injury")
    denied = dict.fromkeys((*asked, "recent_injection_or_aspiration", "fever", "rigors_or_unwell"), False)
    assert verdict(exam(found, age=33, days=3, mechanism=NONE, said=denied), rule) is not MET


FULL: dict[str, Found] = {"effusion": "moderate"}
WARM: dict[str, Found] = {**FULL, "warmth": "warm"}


@pytest.mark.parametrize(
    ("found", "age", "days", "expected"),
    [
        (WARM, 38, 90, MET),
        (WARM, 38, 60, None),
        (FULL, 38, 90, None),
        (FULL, 7, 42, MET),
        (FULL, 7, 41, None),
        (WARM, 15.9, 42, MET),
        (WARM, 16, 42, None),
        ({**WARM, "crepitus": "coarse"}, 61, 400, None),
        ({**WARM, "crepitus": "coarse"}, 38, 400, MET),
    ],
)
def test_a_knee_that_stays_swollen_is_looked_into(
    found: dict[str, Found], age: float, days: float, expected: object
) -> None:
    """NICE CG79: unknown persistent synovitis, urgent from 3 months; ILAR: 6 weeks under 16 years."""
    if expected is None:
        found = {"warmth": "none", **found}
    assert verdict(exam(found, age=age, days=days, mechanism=NONE), "lasting_synovitis") is expected


@pytest.mark.parametrize(
    "known",
    [
        "known_inflammatory_arthritis",
        "previous_gout",
        "bleeding_disorder",
        "knee_prosthesis",
        "previous_injury",
    ],
)
def test_a_knee_whose_swelling_has_a_name_is_not_looked_into(known: str) -> None:
    """Nor one that was injured or operated on, nor beside a rule for more joints that is met."""
    said: dict[str, Answer] = {known: True}
    rule = "lasting_synovitis"
    assert verdict(exam(WARM, age=38, days=200, mechanism=NONE, said=said), rule) is None
    assert verdict(exam(WARM, age=38, days=200, mechanism=TWIST), rule) is None
    assert verdict(exam(WARM, age=38, acuity=Acuity.CHRONIC, mechanism=NONE), rule) is MET
    before: dict[str, Answer] = {"previous_surgery": True}
    assert verdict(exam(WARM, age=38, days=200, mechanism=NONE, said=before), rule) is MET
    healing = exam(WARM, age=38, days=200, mechanism=NONE, operated=(ProcedureName.ARTHROSCOPY, 60))
    assert verdict(healing, rule) is None
    torn: dict[str, Found] = {**WARM, "joint_line_tenderness_medial": True, "mcmurray": True}
    assert verdict(exam(torn, age=38, days=200, mechanism=NONE), rule) is None
    assert verdict(exam({**WARM, "lachman": "2+"}, age=38, days=200, mechanism=NONE), rule) is None
    joints: dict[str, Found] = {"other_joints_swollen": True}
    assert verdict(exam(WARM, person=joints, age=38, days=200, mechanism=NONE), rule) is None


def test_a_childs_knee_that_catches_or_was_overused_is_not_taken_for_arthritis() -> None:
    """The definition of juvenile arthritis leaves out what is of mechanical cause."""
    rule = "lasting_synovitis"
    assert verdict(exam(FULL, age=13, days=150, mechanism=NONE), rule) is MET
    assert verdict(exam(FULL, age=13, days=150, mechanism=NONE, said={"catching": True}), rule) is None
    assert verdict(exam(FULL, age=13, days=150, mechanism=Mechanism.OVERUSE), rule) is None


@pytest.mark.parametrize(
    ("here", "there", "expected"),
    [("weak", "weak", OPEN), ("weak", "absent", OPEN), ("absent", "weak", MET), ("weak", "normal", MET)],
)
def test_pulses_as_weak_in_the_other_foot_may_have_been_so_before_a_twist(
    here: str, there: str, expected: object
) -> None:
    """Hardened arteries weaken both; the rule goes on asking for warmth, refill and the index."""
    found: dict[str, Found] = {"distal_pulses": here, "cool_foot": False}
    twisted = exam(found, {"distal_pulses": there}, age=74, days=3, mechanism=TWIST)
    assert verdict(twisted, "vascular_injury") is expected


@pytest.mark.parametrize("found", [{"cool_foot": True}, {"ankle_brachial_index": 0.7}, {"deformity": True}])
def test_weak_pulses_on_both_sides_reassure_nobody_beside_another_sign(found: dict[str, Found]) -> None:
    """Nor after great force, nor when the other leg was hurt as well."""
    rule, weak = "vascular_injury", {"distal_pulses": "weak"}
    assert verdict(exam({**weak, **found}, weak, age=74, days=1, mechanism=TWIST), rule) is MET
    assert verdict(exam(weak, weak, age=74, days=1, mechanism=Mechanism.HIGH_ENERGY), rule) is MET
    hurt = exam(weak, weak, age=74, days=1, mechanism=TWIST, complaint=(RIGHT, LEFT))
    assert verdict(hurt, rule) is MET


@pytest.mark.parametrize(("old", "expected"), [(True, None), (False, MET), (None, MET)])
def test_a_leg_crooked_of_old_is_not_out_of_shape_from_a_new_twist(
    old: bool | None, expected: object
) -> None:
    """A fracture that healed bent long ago; whoever does not know it so, has a deformed knee."""
    said: dict[str, Answer] = {} if old is None else {"old_deformity": old}
    leg = exam({"deformity": True}, said=said, age=60, days=2, mechanism=TWIST)
    assert verdict(leg, "deformity_after_injury") is expected
    if old:
        assert verdict(leg, "vascular_injury") is None


@pytest.mark.parametrize(
    ("found", "days", "expected"),
    [
        ({"tenderness_lateral_tibial_plateau": True, "unable_to_weight_bear": True}, 35, MET),
        ({"unable_to_weight_bear": True}, 35, OPEN),
        ({"tenderness_lateral_tibial_plateau": True, "unable_to_weight_bear": False}, 35, None),
        ({"tenderness_lateral_tibial_plateau": True}, 35, None),
        ({"tenderness_lateral_tibial_plateau": True, "unable_to_weight_bear": True}, 43, None),
    ],
)
def test_a_leg_that_cannot_carry_weeks_after_a_fall_may_hide_a_missed_fracture(
    found: dict[str, Found], days: float, expected: object
) -> None:
    """What happened at the injury says nothing of now (common practice)."""
    said: dict[str, Answer] = {"unable_to_weight_bear_at_injury": True}
    fell = exam(found, said=said, age=68, days=days, mechanism=Mechanism.FALL_ON_KNEE)
    assert verdict(fell, "tender_bone_not_weight_bearing") is expected


def test_old_numbness_and_pain_of_the_feet_are_told_of_both() -> None:
    """The foot that dropped in childhood is often not the one below the knee complained of."""
    polio: dict[str, Found] = {"foot_drop": "absent"}
    knee = exam(left=polio, said={"old_nerve_loss": True}, age=55, days=60, mechanism=NONE)
    assert verdict(knee, "foot_drop_without_injury", LEFT) is None
    cold: dict[str, Found] = {"distal_pulses": "absent", "cool_foot": True}
    feet = exam(cold, cold, said={"foot_pain_at_night": False}, age=77, days=900, mechanism=NONE)
    assert verdict(feet, "ischaemic_foot", LEFT) is None


@pytest.mark.parametrize(
    ("found", "said", "days", "expected"),
    [
        ({"distal_pulses": "weak"}, {"calf_pain": True}, 0, OPEN),
        ({"distal_pulses": "weak"}, {"calf_pain": True}, 15, None),
        ({"distal_pulses": "weak"}, {"calf_pain": True, "activity_pain": True}, 0, None),
        ({"distal_pulses": "weak", "cool_foot": False}, {"calf_pain": True}, 0, None),
        ({"distal_pulses": "weak"}, {}, 0, None),
        ({"distal_pulses": "normal"}, {"calf_pain": True}, 0, None),
    ],
)
def test_a_calf_that_lately_hurts_above_a_weak_pulse_asks_for_the_foot(
    found: dict[str, Found], said: dict[str, Answer], days: float, expected: object
) -> None:
    """Pain is the first sign of acute ischaemia; a weak pulse alone may be the examiner's own."""
    assert verdict(exam(found, said=said, days=days, age=61, mechanism=NONE), "ischaemic_foot") is expected


@pytest.mark.parametrize(("days", "expected"), [(7, MET), (15, OPEN), (None, OPEN)])
def test_one_leg_lately_swollen_is_suspected_of_a_clot_by_itself(
    days: float | None, expected: object
) -> None:
    """NICE NG158: a leg that swells is suspected, and takes a D-dimer today; both legs are not."""
    leg: dict[str, Found] = {"whole_leg_swollen": True}
    assert verdict(exam(leg, age=36, days=days, mechanism=NONE), "dvt_suspected") is expected
    assert verdict(exam(leg, leg, age=36, days=7, mechanism=NONE), "dvt_suspected") is OPEN
    assert verdict(exam(leg, age=36, days=7, mechanism=TWIST), "dvt_suspected") is None


@pytest.mark.parametrize(("age", "days", "expected"), [(15.9, 14, MET), (16, 14, None), (12, 15, None)])
def test_a_growing_knee_that_opens_over_tender_bone_may_be_broken_through_the_plate(
    age: float, days: float, expected: object
) -> None:
    """Veenema 1999: taken for a sprain of the medial ligament, at 15 years."""
    found: dict[str, Found] = {"valgus_stress_30": "1+", "tenderness_medial_femoral_condyle": True}
    assert (
        verdict(exam(found, age=age, days=days, mechanism=Mechanism.VALGUS_FORCE), "growth_plate") is expected
    )


def test_a_knee_of_which_nobody_said_what_happened_is_asked_whether_it_was_hurt() -> None:
    """Both cruciates and the outer side lax, the foot hangs: dislocated until somebody says not."""
    lax: dict[str, Found] = {
        "lachman": "3+",
        "posterior_drawer": "3+",
        "varus_stress_30": True,
        "foot_drop": "absent",
    }
    untold = exam(lax, complaint=None)
    assert verdict(untold, "knee_dislocation") is OPEN
    assert verdict(exam(lax, mechanism=Mechanism.TWIST, days=0), "knee_dislocation") is MET
    assert verdict(exam(lax, mechanism=Mechanism.TWIST, days=400), "knee_dislocation") is None


def test_a_warm_stiff_knee_that_nobody_dated_is_asked_since_when() -> None:
    """Nor felt for fluid: it may be septic; a dry one is not asked, nor one that has lasted."""
    warm: dict[str, Found] = {"warmth": "warm", "active_flexion": 70}
    untold = exam(warm, mechanism=Mechanism.INSIDIOUS)
    assert verdict(untold, "septic_joint_adult") is OPEN
    assert verdict(exam({**warm, "effusion": "none"}, said=WELL), "septic_joint_adult") is None
    assert verdict(exam(warm, said=WELL, days=400), "septic_joint_adult") is None


@pytest.mark.parametrize(("days", "now", "late"), [(0, MET, None), (42, MET, None), (43, None, MET)])
def test_a_patella_out_for_more_than_six_weeks_is_no_emergency(
    days: float, now: object, late: object
) -> None:
    """Nobody pushes it back in the clinic; undated it counts as fresh (judgement)."""
    out = exam({"patella_dislocated_now": True}, days=days, mechanism=Mechanism.FALL_ON_KNEE)
    assert verdict(out, "patella_still_displaced") is now
    assert verdict(out, "patella_long_displaced") is late
    undated = exam({"patella_dislocated_now": True})
    assert verdict(undated, "patella_still_displaced") is MET
    always = exam({"patella_dislocated_now": True}, age=8, acuity=Acuity.CHRONIC, mechanism=NONE)
    assert verdict(always, "patella_still_displaced") is None
    assert verdict(always, "patella_long_displaced") is MET


@pytest.mark.parametrize(
    ("days", "mechanism", "now", "late"),
    [
        (42, Mechanism.FALL_ON_KNEE, MET, None),
        (43, Mechanism.FALL_ON_KNEE, None, MET),
        (700, NONE, MET, None),
        (700, None, MET, None),
    ],
)
def test_a_tendon_torn_by_an_injury_of_long_ago_is_no_emergency(
    days: float, mechanism: Mechanism | None, now: object, late: object
) -> None:
    """A knee that long was sore and now cannot be lifted may have torn today: only an injury has a day."""
    torn = exam({"straight_leg_raise": "unable"}, days=days, mechanism=mechanism)
    assert verdict(torn, "extensor_rupture") is now
    assert verdict(torn, "extensor_torn_long_ago") is late


def test_what_is_acute_in_a_knee_of_long_trouble_is_an_emergency() -> None:
    """A patella that has slipped for two years went out anew, and a tendon tore anew (judgement)."""
    out = exam({"patella_dislocated_now": True}, days=730, acuity=Acuity.ACUTE, mechanism=TWIST)
    assert verdict(out, "patella_still_displaced") is MET
    assert verdict(out, "patella_long_displaced") is None
    torn = exam({"straight_leg_raise": "unable"}, days=730, acuity=Acuity.ACUTE, mechanism=TWIST)
    assert verdict(torn, "extensor_rupture") is MET
