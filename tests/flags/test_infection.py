"""Infection, tumour and the hip of a child, at the edges of their rules."""

from dataclasses import replace
from datetime import date

import pytest

from fabella.flags import cannot_wait
from fabella.record import Answer, Examination, Mechanism, Procedure, ProcedureName
from tests.flags.build import LEFT, MET, OPEN, PROTOCOL, RIGHT, Found, exam, verdict
from tests.flags.examples import COOL_JOINT, GOOD_HIP, HOT_JOINT, NO_PUS, NONE, WELL

TWIST = Mechanism.TWIST


def test_no_fever_does_not_exclude_a_septic_joint() -> None:
    """Coakley 2006 Rheumatology 45:1039: hot, swollen, tender, restricted is septic until disproved."""
    cool = {"body_temperature": 36.6}
    assert verdict(exam(HOT_JOINT, days=3, said=WELL, person=cool), "septic_joint_adult") is MET


@pytest.mark.parametrize(("days", "expected"), [(14, MET), (15, None)])
def test_a_short_history_is_two_weeks(days: float, expected: object) -> None:
    """Coakley 2006: typically 2 weeks or less."""
    said = {**WELL, "diabetes": False}
    examination = exam(
        {**HOT_JOINT, "haemarthrosis_aspirate": "clear"},
        person={"body_temperature": 36.6},
        said=said,
        days=days,
    )
    assert verdict(examination, "septic_joint_adult") is expected


@pytest.mark.parametrize(("age", "rule"), [(15, "septic_joint_child"), (16, "septic_joint_adult")])
def test_sixteen_is_adult(age: float, rule: str) -> None:
    """Coakley 2006 leaves out those under 16; the rule for children takes over."""
    examination = exam(HOT_JOINT, days=3, age=age)
    rules = {"septic_joint_child", "septic_joint_adult"}
    assert verdict(examination, rule) is MET
    assert all(verdict(examination, each) is None for each in rules - {rule})


def test_an_unknown_age_silences_neither() -> None:
    """Without an age the rule for adults is met, and that for children cannot be excluded."""
    examination = exam(HOT_JOINT, days=3, age=None)
    assert verdict(examination, "septic_joint_adult") is MET
    assert verdict(examination, "septic_joint_child") is OPEN


def test_a_fresh_injury_explains_a_warm_swollen_knee_until_something_speaks_against_it() -> None:
    """After a twist the knee stays open until fever was asked about, and is met with fever (judgement)."""
    injured: dict[str, Found] = {**HOT_JOINT, "warmth": "warm"}
    assert verdict(exam(injured, days=2, mechanism=TWIST), "septic_joint_adult") is OPEN
    assert verdict(exam(injured, days=2, mechanism=TWIST, said={"fever": True}), "septic_joint_adult") is MET
    assert verdict(exam(HOT_JOINT, days=2, mechanism=TWIST), "septic_joint_adult") is MET


def test_a_hot_knee_on_an_anticoagulant_is_told_of_one_needle() -> None:
    """Beside a bleed the needle for infection is not forbidden, whichever anticoagulant is taken.

    Source: Coakley 2006 for warfarin; common practice for the others.
    """
    examination = exam(HOT_JOINT, days=2, said={"anticoagulant": True})
    alarms = cannot_wait(examination, protocol=PROTOCOL)
    actions = {each.rule: each.action for each in alarms if each.verdict is MET}
    assert "an anticoagulant does not forbid the needle" in actions["septic_joint_adult"]
    assert "an anticoagulant alone does not delay aspiration for infection" in actions["bleeding_joint"]
    assert not any("warfarin" in each for each in actions.values())


def test_a_replaced_knee_has_its_own_rule() -> None:
    """Coakley 2006: possible infection of a replacement always goes to the orthopaedic surgeon."""
    replaced = exam(HOT_JOINT, days=3, said={"knee_prosthesis": True})
    assert verdict(replaced, "septic_joint_adult") is None
    assert verdict(replaced, "prosthetic_joint_infection") is MET


def test_pus_is_enough_and_blood_is_not_pus() -> None:
    """A turbid aspirate is met by itself; a bloody one, higher on the scale, is not."""
    assert verdict(exam({"haemarthrosis_aspirate": "turbid"}), "septic_joint_adult") is MET
    assert verdict(exam({"haemarthrosis_aspirate": "blood"}), "septic_joint_adult") is None


@pytest.mark.parametrize(("celsius", "met"), [(37.9, OPEN), (38.0, MET)])
def test_fever_begins_at_38(celsius: float, met: object) -> None:
    """A measured temperature of 38.0 degrees is fever (common practice)."""
    examination = exam({"effusion": "small"}, person={"body_temperature": celsius}, age=5, days=2)
    assert verdict(examination, "septic_joint_child") is met


def test_no_rule_of_the_knee_counts_to_the_limits_of_the_hip() -> None:
    """A child's swollen knee with 38.2 degrees is an alarm; the hip count asks for more than 38.5."""
    # Kocher 1999 J Bone Joint Surg Am 81:1662, 10.2106/00004623-199912000-00002: derived for the hip.
    feverish = exam({"effusion": "small"}, person={"body_temperature": 38.2}, age=5, days=2)
    assert verdict(feverish, "septic_joint_child") is not None


@pytest.mark.parametrize(
    ("age", "gait", "days", "expected"),
    [(2, "mild", 4, MET), (2, "none", 4, None), (4, "mild", 4, None), (2, "mild", 21, None)],
)
def test_a_small_child_limps_on_a_full_knee(age: float, gait: str, days: float, expected: object) -> None:
    """Ramadani 2023: 7 of 51 under 4 with Kingella kingae in the knee met no criterion of the hip."""
    cool: dict[str, Found] = {**COOL_JOINT, "effusion": "small", "antalgic_gait": gait}
    cool |= {"unable_to_weight_bear": False, **NO_PUS}

    child = exam(cool, age=age, days=days, said=WELL, person={"body_temperature": 36.8}, mechanism=NONE)
    assert verdict(child, "septic_joint_child") is expected
    fell = exam(cool, age=age, days=days, said=WELL, person={"body_temperature": 36.8}, mechanism=TWIST)
    assert verdict(fell, "septic_joint_child") is not MET


def test_a_knee_of_a_child_asks_for_both_hips() -> None:
    """Pain keeps the rule open on its side and asks for both hips; the other side is open when it hurts too.

    J Pediatr Orthop 1999 19:455 and Peck 2010: examine both hips; what is found on either is met.
    """
    (hip,) = [a for a in cannot_wait(exam(age=12), protocol=PROTOCOL) if a.rule == "child_hip"]
    assert (hip.side, hip.verdict) == (RIGHT, OPEN)
    assert any("both hips" in each.ask for each in hip.unknown)
    assert verdict(exam(age=12, complaint=(RIGHT, LEFT)), "child_hip", LEFT) is OPEN
    assert verdict(exam(GOOD_HIP, age=12), "child_hip", RIGHT) is None
    assert verdict(exam({}, {"hip_rotation_reduced": True}, age=12), "child_hip", LEFT) is MET
    assert verdict(exam({}, {"hip_rotation_reduced": True}, age=12), "child_hip", RIGHT) is OPEN


@pytest.mark.parametrize(
    ("here", "there", "expected"), [(10, 40, MET), (20, 40, MET), (20, 30, OPEN), (35, 55, OPEN)]
)
def test_rotation_of_the_hip_in_degrees(here: float, there: float, expected: object) -> None:
    """Under 15 degrees, or 15 less than the other hip, is reduced (judgement); free leaves the rest open."""
    examination = exam({"hip_internal_rotation": here}, {"hip_internal_rotation": there}, age=12)
    assert verdict(examination, "child_hip") is expected


@pytest.mark.parametrize(("age", "expected"), [(17, MET), (18, None)])
def test_the_rule_of_the_childs_hip_ends_at_18(age: float, expected: object) -> None:
    """Children and adolescents only; the adult hip has its own rule."""
    assert verdict(exam({"hip_rotation_reduced": True}, age=age), "child_hip") is expected


@pytest.mark.parametrize(("cm", "expected"), [(4.9, OPEN), (5.0, MET)])
def test_a_mass_counts_from_5_cm(cm: float, expected: object) -> None:
    """Scottish referral guidelines: 5 cm or more; smaller, growth and depth remain to be asked."""
    assert verdict(exam({"palpable_mass": True, "mass_size": cm}), "tumour_mass") is expected


@pytest.mark.parametrize(("days", "expected"), [(27, None), (28, MET)])
def test_tender_bone_that_lasts_asks_for_a_radiograph(days: float, expected: object) -> None:
    """Bone tender for four weeks without an injury (Scottish guideline; the four weeks are judgement)."""
    said = {
        "night_pain": False,
        "rest_pain": False,
        "weight_loss": False,
        "cancer_history": False,
        "active_cancer": False,
    }
    tender = exam({"bony_tenderness": True, "bony_enlargement": False}, said=said, days=days, age=35)
    assert verdict(tender, "tumour_bone_pain") is expected


def test_night_pain_of_a_worn_stiff_knee_is_no_tumour_alarm_without_a_pointer() -> None:
    """At 70, stiff and sore with activity: silent; with an earlier cancer: met (judgement)."""
    worn: dict[str, Found] = {"active_flexion": 95, "passive_extension": -10}
    said = {"night_pain": True, "activity_pain": True}
    assert verdict(exam(worn, age=70, said={**said, **NO_CANCER}), "tumour_bone_pain") is None
    assert verdict(exam(worn, age=70, said={**said, "cancer_history": True}), "tumour_bone_pain") is MET


NO_CANCER = {"cancer_history": False, "active_cancer": False, "weight_loss": False}


@pytest.mark.parametrize(("deg", "expected"), [(-0.5, MET), (0, None), (11, None), (11.5, MET)])
def test_alignment_of_a_child(deg: float, expected: object) -> None:
    """Arazi 2001, PMID 11242264: any varus, or valgus above 11 degrees, from 3 to 17 years."""
    assert verdict(exam({"tibiofemoral_angle": deg}, age=10), "child_alignment") is expected
    assert verdict(exam({"tibiofemoral_angle": deg}, age=2.9), "child_alignment") is None
    assert verdict(exam({"tibiofemoral_angle": deg}, age=18), "child_alignment") is None


@pytest.mark.parametrize(
    ("age", "days", "rule", "expected"),
    [
        (61, None, "septic_joint_adult", OPEN),
        (61, 400, "septic_joint_adult", None),
        (9, None, "septic_joint_child", OPEN),
        (9, 400, "septic_joint_child", None),
    ],
)
def test_a_hot_swollen_knee_of_unknown_history_is_held_open(
    age: float, days: float | None, rule: str, expected: object
) -> None:
    """Coakley 2006 speaks of a short history; one nobody wrote down is asked about."""
    assert verdict(exam({"warmth": "hot", "effusion": "large"}, age=age, days=days), rule) is expected


def replaced(examination: Examination, on: date) -> Examination:
    """The same on 4 May 2026, its right knee replaced on a day."""
    done = Procedure(name=ProcedureName.TOTAL_KNEE_REPLACEMENT, sides=(RIGHT,), on=on)
    return replace(
        examination, examined_on=date(2026, 5, 4), context=replace(examination.context, procedure=done)
    )


def test_a_replacement_that_was_written_down_needs_no_answer() -> None:
    """A hot knee with a replacement on record is never sent for a needle as a native one (Coakley 2006)."""
    knee = replaced(exam(HOT_JOINT, days=3, said={"fever": True}, age=70), date(2024, 3, 10))
    assert verdict(knee, "septic_joint_adult") is None
    assert verdict(knee, "prosthetic_joint_infection") is MET


@pytest.mark.parametrize(
    ("warmth", "on", "expected"),
    [
        ("warm", date(2026, 3, 2), OPEN),
        ("hot", date(2026, 3, 2), MET),
        ("warm", date(2025, 3, 2), MET),
        ("none", date(2026, 3, 2), None),
    ],
)
def test_a_new_knee_is_warm_for_months(warmth: str, on: date, expected: object) -> None:
    """Warmth two months after a replacement is asked about; heat, or warmth a year after, is met."""
    said = {"fever": False, "rigors_or_unwell": False}
    found: dict[str, Found] = {"warmth": warmth, "erythema": False, "open_wound": False, "sinus": False}
    knee = exam(found, person={"body_temperature": 36.8}, said=said, days=60, age=67)
    assert verdict(replaced(knee, on), "prosthetic_joint_infection") is expected


def test_a_knee_that_stays_hot_is_not_silent_after_two_weeks() -> None:
    """Where the rule of the short history ends another begins; slight heat, as of wear, is not enough."""
    asked = {**WELL, "diabetes": False}
    found: dict[str, Found] = {**HOT_JOINT, "haemarthrosis_aspirate": "clear"}
    for days, rule in ((14, "septic_joint_adult"), (15, "hot_knee_that_lasts"), (400, "hot_knee_that_lasts")):
        told = exam(found, said=asked, person={"body_temperature": 36.6}, days=days)
        assert verdict(told, rule) is MET
    warm = exam({**found, "warmth": "warm", "erythema": "none"}, said=asked, days=90)
    assert verdict(warm, "hot_knee_that_lasts") is None
    assert verdict(exam({"sinus": True}, days=3), "hot_knee_that_lasts") is MET


@pytest.mark.parametrize("full", ["effusion", "prepatellar_swelling"])
def test_red_skin_with_fever_has_a_rule_also_over_a_dry_joint(full: str) -> None:
    """A full joint, or a bursa, has its own rule; pain out of proportion speaks as fever does."""
    red: dict[str, Found] = {"erythema": "marked", "effusion": "none", "prepatellar_swelling": False}
    assert verdict(exam(red, said={"fever": True}, days=4), "skin_infection_with_fever") is MET
    assert (
        verdict(exam(red, said={"pain_out_of_proportion": True}, days=1), "skin_infection_with_fever") is MET
    )
    elsewhere = {**red, full: "small" if full == "effusion" else True}
    assert verdict(exam(elsewhere, said={"fever": True}, days=4), "skin_infection_with_fever") is None


WARM: dict[str, Found] = {
    "warmth": "warm",
    "erythema": "none",
    "effusion": "moderate",
    "passive_flexion": 138,
}
ON_BIOLOGIC: dict[str, Answer] = {
    "known_inflammatory_arthritis": True,
    "immunosuppressed": True,
    "fever": False,
    "rigors_or_unwell": False,
}


def test_a_known_arthritis_that_flares_in_many_joints_is_not_infected_by_risk_alone() -> None:
    """Both knees warm, full and free at once: open. One knee alone, stiff or with fever: met (judgement)."""
    straight: dict[str, Found] = {**WARM, "passive_extension": 0}
    both = (RIGHT, LEFT)
    flare = exam(straight, straight, said=ON_BIOLOGIC, days=7, age=52, complaint=both)
    assert verdict(flare, "septic_joint_adult") is OPEN
    alone = exam(
        straight, {"effusion": "none"}, person={"other_joints_swollen": False}, said=ON_BIOLOGIC, days=7
    )
    assert verdict(alone, "septic_joint_adult") is MET
    bent: dict[str, Found] = {**straight, "passive_flexion": 85}
    assert (
        verdict(exam(bent, straight, said=ON_BIOLOGIC, days=7, complaint=both), "septic_joint_adult") is MET
    )
    feverish = {**ON_BIOLOGIC, "fever": True}
    assert verdict(exam(straight, straight, said=feverish, days=7), "septic_joint_adult") is MET


def test_a_bone_that_broke_under_no_force_is_no_infected_joint() -> None:
    """Out of shape over tender bone it is broken: the needle waits for the film unless somebody is ill."""
    broken: dict[str, Found] = {
        **HOT_JOINT, "warmth": "warm", "erythema": "none", "deformity": True, "bony_tenderness": True,
    }  # fmt: skip
    said: dict[str, Answer] = {"active_cancer": True, "fever": False, "rigors_or_unwell": False}
    day = exam(broken, said=said, age=66, days=1, mechanism=Mechanism.INSIDIOUS)
    assert verdict(day, "septic_joint_adult") is OPEN
    assert verdict(day, "fracture_without_force") is MET
    ill = exam(broken, said={**said, "fever": True}, age=66, days=1, mechanism=Mechanism.INSIDIOUS)
    assert verdict(ill, "septic_joint_adult") is MET
    in_shape: dict[str, Found] = {**broken, "deformity": False}
    assert verdict(exam(in_shape, said=said, age=66, days=1), "septic_joint_adult") is MET


def test_a_fever_with_a_knee_complained_of_asks_for_the_knee() -> None:
    """Until somebody has felt it; a knee of which nobody wrote the side is asked for as well."""
    fever: dict[str, Answer] = {"fever": True}
    assert verdict(exam(said=fever, age=50, days=2), "septic_joint_adult") is OPEN
    assert verdict(exam(COOL_JOINT, said=fever, age=50, days=2), "septic_joint_adult") is None
    assert verdict(exam(said=fever, age=50, complaint=()), "septic_joint_adult") is None
    unsided = cannot_wait(exam(said=fever, age=50, days=2, complaint=None), protocol=PROTOCOL)
    open_now = [each for each in unsided if each.rule == "septic_joint_adult"]
    assert [each.verdict for each in open_now] == [OPEN, OPEN]
    assert {each.unknown[0].ask for each in open_now} == {"ask which knee the patient complains of"}


def test_a_patella_that_does_not_tap_denies_no_fluid_that_the_sweep_shows() -> None:
    """Little fluid sweeps and does not tap; alone, or against a dry sweep, the tap still has its say."""
    warm: dict[str, Found] = {"warmth": "warm", "patellar_tap": False, "passive_flexion": 95}
    feverish: dict[str, Answer] = {"fever": True}
    little: dict[str, Found] = {**warm, "effusion_sweep": "1+"}
    assert verdict(exam(little, said=feverish, days=3), "septic_joint_adult") is MET
    dry: dict[str, Found] = {"warmth": "none", "patellar_tap": False, "passive_flexion": 140}
    assert verdict(exam({**dry, "passive_extension": 0}, said=feverish, days=3), "septic_joint_adult") is None
    at_odds: dict[str, Found] = {**dry, "patellar_tap": True, "effusion_sweep": "zero"}
    assert verdict(exam(at_odds, said=feverish, days=3), "septic_joint_adult") is OPEN


def test_a_fever_beside_a_cool_knee_of_years_is_asked_about_and_no_alarm() -> None:
    """A cold with fever at a review of a worn knee; warm, or lately, it is infected until disproved."""
    worn: dict[str, Found] = {"warmth": "none", "effusion": "small", "passive_flexion": 105}
    said: dict[str, Answer] = {"fever": True}
    assert verdict(exam(worn, said=said, age=70, days=800), "septic_joint_adult") is OPEN
    assert verdict(exam({**worn, "warmth": "warm"}, said=said, age=70, days=800), "septic_joint_adult") is MET
    assert verdict(exam(worn, said=said, age=70, days=3), "septic_joint_adult") is MET


def test_a_cool_knee_with_fever_denied_asks_no_more_about_infection() -> None:
    """Stuck since this morning, with a little fluid: nobody takes its temperature unless there is a risk."""
    stuck: dict[str, Found] = {"warmth": "none", "effusion": "small", "block_to_extension": "springy"}
    assert verdict(exam(stuck, said={"fever": False}, days=0), "septic_joint_adult") is None
    assert verdict(exam(stuck, days=0), "septic_joint_adult") is OPEN
    at_risk: dict[str, Answer] = {"fever": False, "immunosuppressed": True}
    assert verdict(exam(stuck, said=at_risk, days=0), "septic_joint_adult") is MET


def test_feeling_ill_for_weeks_with_many_swollen_joints_is_open() -> None:
    """An arthritis of the whole body makes ill; a fever, a stiff knee or one joint alone is an alarm."""
    warm: dict[str, Found] = {
        "warmth": "warm",
        "effusion": "small",
        "passive_flexion": 138,
        "passive_extension": 0,
    }
    ill: dict[str, Answer] = {"rigors_or_unwell": True, "fever": False}
    many: dict[str, Found] = {"other_joints_swollen": True}
    assert verdict(exam(warm, person=many, said=ill, days=30), "septic_joint_adult") is OPEN
    assert verdict(exam(warm, person=many, said={**ill, "fever": True}, days=30), "septic_joint_adult") is MET
    hot: dict[str, Found] = {**many, "body_temperature": 38.5}
    assert verdict(exam(warm, person=hot, said=ill, days=30), "septic_joint_adult") is MET
    stiff: dict[str, Found] = {**warm, "passive_flexion": 85}
    assert verdict(exam(stiff, person=many, said=ill, days=30), "septic_joint_adult") is MET
    assert verdict(exam(warm, said=ill, days=30), "septic_joint_adult") is MET


def test_long_steroids_weaken_the_defences() -> None:
    """A cool, stiff, full joint of days in somebody on steroids is septic until disproved (judgement)."""
    joint: dict[str, Found] = {"effusion": "moderate", "active_flexion": 70, "warmth": "none"}
    said: dict[str, Answer] = {"fever": False, "steroid_or_quinolone": True}
    assert verdict(exam(joint, age=71, days=5, mechanism=NONE, said=said), "septic_joint_adult") is MET
    trace: dict[str, Found] = {"effusion_sweep": "trace", "active_flexion": 140, "passive_extension": 0}
    cool: dict[str, Found] = {**trace, "warmth": "none"}
    assert verdict(exam(cool, age=78, days=5, mechanism=NONE, said=said), "septic_joint_adult") is None
    well: dict[str, Answer] = {"fever": False, "steroid_or_quinolone": False}
    assert verdict(exam(joint, age=71, days=5, mechanism=NONE, said=well), "septic_joint_adult") is not MET


def test_a_bursa_of_a_feverish_diabetic_is_infected_until_it_is_known_to_be_cool_and_pale() -> None:
    """Shivers and low resistance count before heat was felt for (judgement)."""
    said: dict[str, Answer] = {"rigors_or_unwell": True, "diabetes": True}
    bursa: dict[str, Found] = {"prepatellar_swelling": True}
    cool: dict[str, Found] = {**bursa, "warmth": "none", "erythema": "none"}
    assert verdict(exam(bursa, age=70, said=said), "septic_bursitis") is MET
    assert verdict(exam(cool, age=70, said=said), "septic_bursitis") is None
    assert verdict(exam(bursa, age=70, said={"rigors_or_unwell": True}), "septic_bursitis") is OPEN


@pytest.mark.parametrize(("age", "expected"), [(17, None), (18, MET)])
def test_fever_and_tender_bone_of_an_adult_are_infected_bone(age: float, expected: object) -> None:
    """A septic joint, a fresh injury without redness and a knee without fever have other names."""
    rule = "osteomyelitis_adult"
    bone: dict[str, Found] = {"bony_tenderness": True, "effusion": "none"}
    fever: dict[str, Answer] = {"fever": True}
    assert verdict(exam(bone, age=age, days=6, said=fever), rule) is expected
    assert verdict(exam({**bone, **HOT_JOINT}, age=age, days=6, said=fever), rule) is None
    assert verdict(exam(bone, age=age, days=6), rule) is None


def test_a_mass_at_a_nerve_is_referred() -> None:
    """It grows from the nerve or presses it; both feet numb alike are not of one lump (judgement)."""
    lump: dict[str, Found] = {"palpable_mass": True}
    numb: dict[str, Found] = {"peroneal_sensation": True}
    assert verdict(exam({**lump, "tinel_fibular_neck": True}), "tumour_mass") is MET
    assert verdict(exam({**lump, **numb}), "tumour_mass") is MET
    assert verdict(exam({**lump, **numb}, numb), "tumour_mass") is OPEN
    assert verdict(exam(lump, said={"lump_growing": False}), "tumour_mass") is OPEN


def test_tender_bone_at_the_knee_explains_a_leg_that_is_not_used() -> None:
    """The hips of the child are still asked about; groin pain still points to them (judgement)."""
    leg: dict[str, Found] = {"bony_tenderness": True, "unable_to_weight_bear": True}
    assert verdict(exam(leg, age=0.6, days=1, mechanism=NONE), "child_hip") is OPEN
    assert verdict(exam(leg, age=9, days=1, mechanism=NONE, said={"groin_pain": True}), "child_hip") is MET
    unused: dict[str, Found] = {"unable_to_weight_bear": True}
    assert verdict(exam(unused, age=9, days=1, mechanism=NONE), "child_hip") is MET
