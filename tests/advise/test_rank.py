"""What to do next: nothing forbidden, nothing twice, most for the time, and an end to it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fabella.advise.forbidden import _BY_FINDING, _BY_LESION, contraindications
from fabella.flags import Verdict, load_rules
from fabella.infer import KneeEvidence, Setting, load_model, posterior
from fabella.infer.findings import knees
from fabella.protocol import Kind, load_protocol
from fabella.record import Acuity, Examination
from fabella.workup import run_workup
from tests.advise.cases import CASES, LEFT, RIGHT, not_examined, worked_up
from tests.flags.build import exam

PROTOCOL = load_protocol()

EXPECTED = {
    "fracture": "fracture_suspected",
    "septic": "septic_joint_suspected",
    "locked": "locked_knee",
    "patella_out": "acute_patellar_dislocation",
    "dislocated": "knee_dislocation_suspected",
    "extensor": "extensor_rupture_suspected",
    "thrombosis": "dvt_suspected",
}


def in_force(name: str) -> frozenset[str]:
    """The contraindications of the right knee of a case."""
    workup = worked_up(name)
    evidence = knees(workup.examination, workup.graded, protocol=PROTOCOL, knowledge=load_model().knowledge)[
        RIGHT
    ]
    return contraindications(
        load_model(), posterior(load_model(), evidence), workup.examination, workup.alarms, RIGHT
    )


@pytest.mark.parametrize(("name", "contraindication"), EXPECTED.items())
def test_what_is_suspected_forbids(name: str, contraindication: str) -> None:
    """A suspected fracture, septic joint, dislocation and the like forbid what the protocol says they do."""
    assert contraindication in in_force(name)


@pytest.mark.parametrize("name", CASES)
def test_nothing_forbidden_is_suggested(name: str) -> None:
    """No suggested manoeuvre must be avoided in any state that is in force; those withheld say why."""
    workup = worked_up(name)
    assert workup.advice is not None
    active = in_force(name)
    for step in workup.advice.bedside:
        if step.side is RIGHT:
            assert not active & {each.id for each in PROTOCOL.sign(step.id).avoid_when}, step.id
    for each in workup.advice.withheld:
        assert each.why
        assert {avoided.name for avoided in PROTOCOL.sign(each.id).avoid_when} & set(each.why.split("; "))


@pytest.mark.parametrize("name", EXPECTED)
def test_stress_tests_are_withheld_where_they_harm(name: str) -> None:
    """Something that would tell is withheld in every one of these knees."""
    advice = worked_up(name).advice
    assert advice is not None
    assert advice.withheld or name == "thrombosis"  # which forbids three manoeuvres only


def test_every_contraindication_of_the_protocol_can_come_into_force() -> None:
    """Each state in which the protocol avoids a manoeuvre follows from an alarm, a suspicion or a finding.

    But for two that nothing recorded brings about: a hip prosthesis and recent surgery.
    """
    reachable = {
        *_BY_LESION,
        *_BY_FINDING,
        *(c for rule in load_rules().values() for c in rule.contraindicates),
    }
    avoided = {each.id for sign in PROTOCOL.signs for each in sign.avoid_when}
    assert reachable <= avoided
    assert avoided - reachable == {"hip_prosthesis", "recent_surgery"}


@pytest.mark.xfail(
    strict=True,
    raises=AssertionError,
    reason="nothing brings 'recent_surgery' about, not even surgery that was told",
)
def test_recent_surgery_forbids_what_the_protocol_says() -> None:
    """A patient who told of major surgery within 12 weeks is not made to squat or hop."""
    workup = run_workup(
        exam(
            {"effusion": "small"},
            said={"major_surgery_12_weeks": True, "previous_surgery": True},
            age=40,
            acuity=Acuity.SUBACUTE,
        )
    )
    assert workup.advice is not None
    forbidden = {sign.id for sign in PROTOCOL.signs if "recent_surgery" in {a.id for a in sign.avoid_when}}
    withheld = {each.id for each in workup.advice.withheld}
    suggested = {step.id for step in workup.advice.bedside}
    assert not suggested & forbidden
    assert withheld & forbidden


@pytest.mark.parametrize("name", CASES)
def test_nothing_done_is_suggested_again(name: str) -> None:
    """No step repeats a sign that was examined, tried or asked; each stands once a side."""
    workup = worked_up(name)
    assert workup.advice is not None
    done = {(each.sign, each.side) for each in workup.examination.findings}
    steps = [(step.id, step.side) for step in workup.advice.bedside]
    assert not done & set(steps)
    assert not set(workup.examination.history) & {step for step, _ in steps}
    assert len(set(steps)) == len(steps)


@pytest.mark.xfail(
    strict=True,
    raises=AssertionError,
    reason="a finding of the state 'not examined' counts as if it had been tried",
)
def test_what_was_not_examined_may_be_suggested() -> None:
    """A Lachman stated as not examined is suggested like one that is not mentioned at all."""
    stated, silent = not_examined("lachman"), not_examined("lachman").without("lachman", RIGHT)

    def suggestions(examination: Examination) -> set[str]:
        advice = run_workup(examination).advice
        assert advice is not None
        return {step.id for step in advice.bedside}

    assert "lachman" in suggestions(silent)
    assert suggestions(stated) == suggestions(silent)


def test_what_pain_prevented_is_not_suggested_again() -> None:
    """A pivot shift that pain prevented is not asked for again now."""
    advice = run_workup(not_examined("lachman")).advice
    assert advice is not None
    assert "pivot_shift" not in {step.id for step in advice.bedside}


@pytest.mark.parametrize("name", CASES)
def test_steps_are_ranked_by_what_they_tell_for_time_and_pain(name: str) -> None:
    """Steps stand by bits a minute, pain counting as minutes; images by bits; each tells something."""
    advice = worked_up(name).advice
    assert advice is not None
    rates = [step.bits_per_minute for step in advice.bedside]
    assert rates == sorted(rates, reverse=True)
    for step in advice.bedside:
        sign = PROTOCOL.sign(step.id)
        assert step.bits_per_minute == pytest.approx(step.bits / step.minutes / (1 + sign.hurts))
        assert step.kind == ("question" if sign.is_history else "manoeuvre")
        assert sign.kind is not Kind.COURTESY
    told = [image.bits for image in advice.images]
    assert told == sorted(told, reverse=True)
    assert all(step.bits >= 0.01 for step in (*advice.bedside, *advice.images))


@pytest.mark.parametrize("name", CASES)
def test_outlooks_average_to_what_is_known_now(name: str) -> None:
    """The chances of a step's outcomes add up to 1; its sources are named."""
    advice = worked_up(name).advice
    assert advice is not None
    for step in (*advice.bedside, *advice.images):
        assert sum(outlook.chance for outlook in step.outlooks) == pytest.approx(1, abs=1e-6)
        assert all(0 <= outlook.then <= 1 and 0 <= outlook.now <= 1 for outlook in step.outlooks)
        assert step.sources


def test_an_empty_examination_is_not_enough() -> None:
    """Where nothing was examined something is worth doing."""
    for name in ("empty", "only_context"):
        advice = worked_up(name).advice
        assert advice is not None
        assert not advice.enough
        assert advice.bedside


def test_a_complete_clear_examination_is_enough() -> None:
    """After everything was examined and points one way, nothing left at the bedside changes the plan."""
    advice = worked_up("clear_tear").advice
    assert advice is not None
    assert advice.enough


def test_knees_not_complained_of_get_no_steps() -> None:
    """Steps and images concern the knees complained of only: the right, the left, or both."""
    for name, sides in (("clear_tear", {RIGHT}), ("child", {LEFT}), ("worn_both", {RIGHT, LEFT})):
        advice = worked_up(name).advice
        assert advice is not None
        concerned = {step.side for step in (*advice.bedside, *advice.images)}
        assert concerned | {each.side for each in advice.withheld} <= sides
        assert {image.side for image in advice.images} == sides


def leading_image(name: str) -> str:
    """The image that stands first."""
    advice = worked_up(name).advice
    assert advice is not None
    return advice.images[0].id


@pytest.mark.parametrize(("name", "image"), [("clear_tear", "mri"), ("septic", "aspiration")])
def test_the_image_that_shows_what_is_suspected_leads(name: str, image: str) -> None:
    """MRI leads for a torn cruciate, aspiration for a septic joint (common practice)."""
    assert leading_image(name) == image


@pytest.mark.xfail(
    strict=True,
    raises=AssertionError,
    reason="images stand by bits alone, and MRI shows most of what radiographs show and more, in 40 minutes",
)
def test_radiographs_lead_where_the_fracture_rule_is_met() -> None:
    """With the Ottawa knee rule met the first image is a radiograph (Stiell 1996 JAMA 275:611)."""
    assert any(alarm.rule == "ottawa_knee" for alarm in worked_up("fracture").alarms)
    assert leading_image("fracture") == "radiograph"


def test_a_met_alarm_alone_forbids() -> None:
    """An alarm forbids even where the probabilities do not: rules stand above the model."""
    sound = posterior(load_model(), KneeEvidence(setting=Setting(symptomatic=False), observations=()))
    met = [
        alarm
        for alarm in worked_up("fracture").alarms
        if alarm.verdict is Verdict.MET and alarm.contraindicates
    ]
    assert met
    forced = contraindications(load_model(), sound, exam(), tuple(met), RIGHT)
    assert {each for alarm in met if alarm.side in (RIGHT, None) for each in alarm.contraindicates} <= forced
    opened = tuple(replace(alarm, verdict=Verdict.CANNOT_BE_EXCLUDED) for alarm in met)
    assert contraindications(load_model(), sound, exam(), opened, RIGHT) == contraindications(
        load_model(), sound, exam(), (), RIGHT
    )
