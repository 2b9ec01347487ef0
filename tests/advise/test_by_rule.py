"""What met rules order and withhold, what has room beside them, and the images that treatment rests on."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fabella.advise import Advice, Confirms, worth_doing
from fabella.advise.by_rule import SERVED_FROM, by_rule
from fabella.advise.images import PLAN_CHANGES_AT, WORTH_A_TRY
from fabella.advise.untimely import TAKES_WEEKS, of_the_injury, untimely
from fabella.anatomy import load_lesions
from fabella.evidence.knowledge import load_knowledge
from fabella.flags import Urgency, Verdict, load_rules
from fabella.protocol import load_protocol
from fabella.record import Acuity, Examination, Finding, Mechanism, ProcedureName, Setting, State
from fabella.report.plan_words import plan_words
from fabella.teach.reasoning import Reasoner
from fabella.workup import run_workup
from tests.advise.cases import CASES, LEFT, RIGHT, worked_up
from tests.flags.build import Found, exam

IMAGES = {each.image for each in load_knowledge().images}
HIP = exam(
    {"hip_rotation_reduced": True, "hip_rotation_pain": True, "obligate_external_rotation": True},
    said={"groin_pain": True},
    age=68,
    acuity=Acuity.CHRONIC,
    mechanism=Mechanism.INSIDIOUS,
)
PROSTHESIS = exam(
    {"warmth": True, "erythema": True, "effusion": "moderate"},
    said={"knee_prosthesis": True, "fever": True},
    age=74,
    acuity=Acuity.CHRONIC,
)
LOCKED = CASES["locked"]


def advised(examination: Examination) -> Advice:
    """The advice on an examination."""
    advice = run_workup(examination).advice
    assert advice is not None
    return advice


def test_rules_order_and_withhold_images_of_the_evidence() -> None:
    """Whatever a rule names is an image that can be offered, and every reason is in words."""
    for rule in load_rules().values():
        assert {*rule.orders, *(each.deed for each in rule.withholds)} <= IMAGES, rule.id
        assert all(len(each.why.split()) > 3 for each in rule.withholds)


@pytest.mark.parametrize("barred", [True, False, None])
def test_a_pacemaker_or_metal_withholds_what_is_taken_in_a_magnet_until_it_is_cleared(
    barred: bool | None,
) -> None:
    """Whatever rule orders it, the reason says who clears it and what stands in its place."""
    history = dict(LOCKED.history) | ({} if barred is None else {"unsafe_for_mri": barred})
    advice = advised(replace(LOCKED, history=history))
    steps = {each.id for each in (*advice.first, *advice.images)}
    withheld = {each.id: each.why for each in advice.withheld if each.kind == "image"}
    assert ("mri" in steps) is not barred
    assert ("mri" in withheld) is bool(barred)
    assert "spine_mri" not in withheld
    if barred:
        assert "radiology has cleared it" in withheld["mri"]
    saddle = replace(LOCKED, history=history | {"bladder_or_saddle_symptoms": True})
    assert ("spine_mri" in {each.id for each in advised(saddle).withheld}) is bool(barred)


def test_no_needle_into_a_replaced_knee() -> None:
    """A possible infection of a knee replacement withholds the needle, as image and as sign, and says why."""
    advice = advised(PROSTHESIS)
    needle = next(each for each in advice.withheld if each.kind == "image")
    assert (needle.id, needle.side) == ("aspiration", RIGHT)
    assert "no needle outside theatre conditions" in needle.why
    offered = {step.id for step in (*advice.first, *advice.bedside, *advice.images)}
    assert not offered & {"aspiration", "haemarthrosis_aspirate"}


def test_a_more_urgent_order_stands_against_a_withholding() -> None:
    """A bleeding tendency delays a needle, but not that into a septic joint: its rule says so."""
    septic = next(each for each in worked_up("septic").alarms if each.rule == "septic_joint_adult")
    rule = load_rules()["bleeding_joint"]
    bleeding = replace(septic, rule=rule.id, urgency=rule.urgency, orders=(), withholds=rule.withholds)
    assert set(by_rule((bleeding,), RIGHT).withheld) == {"aspiration"}
    assert set(by_rule((septic, bleeding), RIGHT).orders) == {"aspiration"}
    assert not by_rule((septic, bleeding), RIGHT).withheld
    equal = replace(bleeding, urgency=septic.urgency)
    assert not by_rule((septic, equal), RIGHT).orders
    assert not by_rule((bleeding,), LEFT).withheld
    assert not by_rule((replace(bleeding, verdict=Verdict.CANNOT_BE_EXCLUDED),), RIGHT).withheld


def test_the_image_that_treatment_rests_on_is_named_though_it_tells_nothing() -> None:
    """A hip that is nearly certain gets its radiograph first, with the reason."""
    first = advised(HIP).images[0]
    assert (first.id, first.purpose) == ("hip_radiograph", Confirms(("hip_disease",)))


@pytest.mark.parametrize("name", CASES)
def test_treatment_rests_on_images_of_likely_lesions_only(name: str) -> None:
    """Every lesion that an image confirms is likelier than not; no image stands twice or is withheld."""
    workup = worked_up(name)
    assert workup.advice is not None
    assert workup.conclusion is not None
    images = [(step.id, step.side) for step in (*workup.advice.first, *workup.advice.images)]
    assert len(set(images)) == len(images)
    assert not set(images) & {(each.id, each.side) for each in workup.advice.withheld}
    for step in workup.advice.images:
        confirmed = step.purpose.lesions if isinstance(step.purpose, Confirms) else ()
        held = {each.lesion: each.probability for each in workup.conclusion.knee(step.side).any_level()}
        assert all(held[lesion] > PLAN_CHANGES_AT - 0.1 for lesion in confirmed), step


WORN = exam(
    {"crepitus": True, "bony_enlargement": True}, age=70, acuity=Acuity.CHRONIC, complaint=(RIGHT, LEFT)
)


def film(examination: Examination) -> Confirms:
    """What the radiograph that grades the wear of the right knee is for."""
    (step,) = (each for each in advised(examination).images if (each.id, each.side) == ("radiograph", RIGHT))
    assert isinstance(step.purpose, Confirms)
    return step.purpose


def test_nobody_who_cannot_stand_is_sent_for_a_standing_film() -> None:
    """The film of a worn knee is weight-bearing; of who cannot stand on one leg, lying."""
    assert film(WORN).how == "weight-bearing"
    for side in (RIGHT, LEFT):
        cannot = Finding(sign="unable_to_weight_bear", side=side, state=State.ABNORMAL, level="yes")
        lying = replace(WORN, findings=(*WORN.findings, cannot))
        assert film(lying).how == "lying down, without load (unable to stand safely)"


def test_a_film_says_when_the_diagnosis_needs_none() -> None:
    """At 70, with pain on activity and little stiffness, wear needs no image; unasked it is open."""
    # NICE NG226 (2022).
    assert not film(WORN).spared_by
    assert film(replace(WORN, history={"activity_pain": True, "morning_stiffness_min": 10.0})).spared_by
    assert not film(replace(WORN, history={"activity_pain": True, "morning_stiffness_min": 45.0})).spared_by


def test_a_knee_that_may_be_broken_is_filmed_without_load(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a fracture suspected the film that grades the wear is taken lying down, and says why."""
    broken = next(each for each in run_workup(CASES["fracture"]).alarms if each.verdict is Verdict.MET)
    assert "fracture_suspected" in broken.contraindicates
    suspected = replace(broken, orders=(), urgency=Urgency.WITHIN_48_HOURS)
    monkeypatch.setattr("fabella.workup.cannot_wait", lambda *_, **__: (suspected,))
    assert film(WORN).how == "lying down, without load (fracture suspected)"


def test_what_was_drawn_is_not_drawn_again() -> None:
    """A recorded aspirate is the aspiration done: it is not offered again."""
    assert "aspiration" in {step.id for step in advised(CASES["septic"]).first}
    pus = exam(
        {"warmth": True, "erythema": True, "effusion": "large", "haemarthrosis_aspirate": "turbid"},
        said={"fever": True},
        age=66,
        acuity=Acuity.ACUTE,
    )
    advice = advised(pus)
    assert "aspiration" not in {step.id for step in (*advice.first, *advice.images)}


def test_beside_what_has_to_be_done_now_nothing_else_is_proposed() -> None:
    """With a septic joint the needle stands alone, and nobody is asked about gout first."""
    advice = advised(CASES["septic"])
    assert [step.id for step in advice.first] == ["aspiration"]
    assert advice.first_only
    assert not advice.bedside
    assert not advice.images


def test_beside_the_same_day_only_what_speaks_of_a_likely_lesion_has_room() -> None:
    """With a suspected thrombosis the vein is scanned first, and a lesion below a third waits."""
    advice = advised(CASES["thrombosis"])
    assert advice.first[0].id == "vein_ultrasound"
    for step in (*advice.bedside, *advice.images):
        assert step.purpose or max(each.now for each in step.outlooks) >= SERVED_FROM


def test_a_later_rule_leaves_the_ranking_alone() -> None:
    """A locked knee, urgent within 48 hours, has its MRI first and all other steps after it."""
    workup = run_workup(LOCKED)
    assert workup.advice is not None
    assert workup.advice.first[0].id == "mri"
    assert not workup.advice.deferred
    later = tuple(replace(each, urgency=Urgency.WITHIN_48_HOURS) for each in workup.alarms)
    assert worth_doing(workup.advice, later) == workup.advice


def test_a_locked_knee_keeps_all_forcing_tests_together() -> None:
    """Every forcing test not yet done is withheld for the same reason, however little it would tell."""
    named = {each.id for each in advised(LOCKED).withheld if "locked knee" in each.why}
    assert {"thessaly_medial", "thessaly_lateral", "apley", "bounce_home", "mcmurray_medial"} <= named


def test_what_shows_on_a_patient_who_lies_is_never_withheld() -> None:
    """Unable to stand, the patient is still looked at; only what needs standing waits, named as a deed."""
    lying = exam({"unable_to_weight_bear": "yes", "effusion": "small"}, age=70, acuity=Acuity.SUBACUTE)
    withheld = advised(lying).withheld
    assert not {each.id for each in withheld} & {
        "erythema", "open_wound", "scar", "sinus", "ecchymosis", "quadriceps_wasting", "calf_wasting", "rash",
    }  # fmt: skip
    names = [each.name for each in withheld if each.why == "unable to stand safely"]
    assert "Walking" in names
    assert len(set(names)) == len(names)


def test_what_is_withheld_is_named_as_a_deed() -> None:
    """Not "unable to take four steps" is forbidden, but taking them."""
    assert load_protocol().sign("unable_to_weight_bear").deed == "Four steps on this leg"
    assert load_protocol().sign("lachman").deed == "Lachman test"


def test_the_ideal_examiner_is_not_stopped_by_an_alarm() -> None:
    """The ranking itself goes on beside an alarm, for practice; only what a workup proposes is cut."""
    reasoner = Reasoner()
    advice = reasoner.advice(reasoner.think(CASES["septic"]))
    assert advice.bedside
    assert not advice.deferred


def test_it_is_not_enough_while_a_pressing_rule_is_open() -> None:
    """Where the lesions are clear and nobody raised the straight leg, the plan says so (common practice)."""
    clear = CASES["clear_tear"]
    assert not advised(clear).unsettled
    without = replace(
        clear,
        context=replace(clear.context, acuity=Acuity.ACUTE),
        findings=tuple(each for each in clear.findings if each.sign != "straight_leg_raise"),
    )
    open_rules = {each.rule for each in run_workup(without).alarms if each.verdict is not Verdict.MET}
    assert "extensor_rupture" in open_rules
    assert advised(without).enough
    assert advised(without).unsettled
    told = plan_words(advised(without), load_lesions()).enough
    assert told == "Settle what could not be excluded; nothing else at the bedside would change the plan."
    settled = replace(advised(without), unsettled=False)
    assert plan_words(settled, load_lesions()).enough == "Nothing left at the bedside would change the plan."


def test_only_what_may_change_the_plan_is_proposed() -> None:
    """What a workup names at the bedside can carry a lesion well across half, and tells of that lesion."""
    for name, examination in CASES.items():
        for step in advised(examination).bedside:
            if step.joins:
                continue
            crossing = [
                each
                for each in step.outlooks
                if (each.now >= PLAN_CHANGES_AT) != (each.then >= PLAN_CHANGES_AT)
            ]
            assert any(abs(each.then - each.now) >= 0.1 for each in crossing), (name, step.id)


def test_an_unfinished_examination_is_not_enough_though_no_single_step_would_change_the_plan() -> None:
    """Four normal signs in a clinic of first contact: the rest is told as counting together."""
    begun: dict[str, Found] = {
        "patellar_apprehension": "none",
        "lachman": "0",
        "lachman_end_point": False,
        "effusion": "none",
    }
    advice = advised(exam(begun, age=45, setting=Setting.PRIMARY_CARE, acuity=Acuity.CHRONIC))
    assert not advice.enough
    assert advice.together >= WORTH_A_TRY
    assert advice.bedside
    assert all(each.joins and not each.decides for each in advice.bedside)
    assert all(load_protocol().sign(each.id).routine for each in advice.bedside)
    plan = plan_words(advice, load_lesions())
    assert plan.together.startswith("No single step would change the plan; the rest of the routine")
    assert not plan.enough


@pytest.mark.parametrize(
    ("mechanism", "days", "early"),
    [(Mechanism.TWIST, 0, True), (Mechanism.TWIST, 30, False), (Mechanism.INSIDIOUS, 0, False)],
)
def test_nobody_is_asked_on_the_day_of_the_injury_how_the_stairs_are(
    mechanism: Mechanism, days: float, early: bool
) -> None:
    """Stairs, theatre and wasting take weeks to tell (judgement); the ranking itself leaves them out too."""
    examination = exam({"effusion": "moderate"}, age=25, days=days, mechanism=mechanism)
    assert bool(untimely(examination, load_protocol())) is early
    reasoner = Reasoner()
    offered = {step.id for step in reasoner.advice(reasoner.think(examination)).bedside}
    assert not (early and offered & TAKES_WEEKS)


@pytest.mark.parametrize(("onset", "late"), [(300, True), (14, True), (13, False), (None, False)])
def test_how_it_came_about_is_not_asked_once_it_was_operated_on(onset: float | None, late: bool) -> None:
    """Two weeks after a reconstruction nobody asks for a pop; after a new injury everybody does."""
    done = (ProcedureName.ACL_RECONSTRUCTION, 14)
    examination = exam({"effusion": "small"}, days=onset, mechanism=Mechanism.TWIST, operated=done)
    advice = run_workup(examination).advice
    asked = {each.id for each in advice.bedside} if advice else set()
    injury = of_the_injury(load_protocol())
    assert (untimely(examination, load_protocol()) >= injury) is late
    assert not (late and asked & injury)
