"""What to do next: nothing forbidden, nothing twice, most for the time, and an end to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta

import pytest

from fabella.advise.forbidden import _BY_FINDING, _BY_LESION, contraindications
from fabella.advise.images import NOT_TAKEN_FOR, PLAN_CHANGES_AT, _by_image
from fabella.anatomy import Side
from fabella.flags import Verdict, load_rules
from fabella.infer import KneeEvidence, Setting, load_model, posterior
from fabella.infer.findings import knees
from fabella.protocol import Kind, load_protocol
from fabella.record import Acuity, Answer, Examination, Procedure, ProcedureName
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
    return contraindications(chances(evidence), workup.examination, workup.alarms, RIGHT)


def chances(evidence: KneeEvidence) -> Mapping[tuple[str, str], float]:
    """How likely every lesion is by the evidence of one knee."""
    return load_model().chances(posterior(load_model(), evidence).states)


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
        if each.kind == "sign":
            assert {avoided.name for avoided in PROTOCOL.sign(each.id).avoid_when} & set(each.why.split("; "))


@pytest.mark.parametrize("name", EXPECTED)
def test_stress_tests_are_withheld_where_they_harm(name: str) -> None:
    """Something that would tell is withheld in every one of these knees."""
    advice = worked_up(name).advice
    assert advice is not None
    assert advice.withheld or name == "thrombosis"  # which forbids three manoeuvres only


def test_every_contraindication_of_the_protocol_can_come_into_force() -> None:
    """Each state in which the protocol avoids a manoeuvre follows from an alarm, a suspicion or a finding.

    But for recent surgery, which the date or the story of an operation brings about, and a hip prosthesis,
    which nothing recorded does.
    """
    reachable = {
        *_BY_LESION,
        *_BY_FINDING,
        *(c for rule in load_rules().values() for c in rule.contraindicates),
    }
    avoided = {each.id for sign in PROTOCOL.signs for each in sign.avoid_when}
    assert reachable <= avoided
    assert avoided - reachable == {"hip_prosthesis", "recent_surgery"}


def test_a_foot_without_pulses_is_not_called_a_dislocation() -> None:
    """A week after a replacement its tests are withheld for the foot, not for a knee that was never out."""
    examination = exam(
        {"distal_pulses": "absent", "cool_foot": True},
        age=69,
        days=2000,
        operated=(ProcedureName.TOTAL_KNEE_REPLACEMENT, 7),
    )
    advice = run_workup(examination).advice
    assert advice is not None
    reasons = {reason for each in advice.withheld for reason in each.why.split("; ")}
    assert "blood supply of the foot in danger" in reasons
    assert "knee dislocation suspected" not in reasons


OPERATED_ON = date(2024, 3, 1)


def operated(
    days_ago: int | None = None,
    *,
    name: ProcedureName = ProcedureName.MENISCAL_REPAIR,
    sides: tuple[Side, ...] = (RIGHT,),
    said: Mapping[str, Answer] | None = None,
) -> Examination:
    """A knee that was operated on so many days ago, or of which something is told."""
    examination = exam({"effusion": "small"}, said=said, age=40, acuity=Acuity.SUBACUTE)
    if days_ago is None:
        return examination
    procedure = Procedure(name=name, sides=sides, on=OPERATED_ON)
    return replace(
        examination,
        examined_on=OPERATED_ON + timedelta(days=days_ago),
        context=replace(examination.context, procedure=procedure),
    )


def forbidden_by_surgery(examination: Examination) -> bool:
    """Whether recent surgery is in force on the right knee."""
    nothing = chances(KneeEvidence(setting=Setting(symptomatic=False), observations=()))
    return "recent_surgery" in contraindications(nothing, examination, (), RIGHT)


@pytest.mark.parametrize(
    "examination",
    [operated(30), operated(said={"major_surgery_12_weeks": True, "previous_surgery": True})],
    ids=["dated", "told"],
)
def test_recent_surgery_forbids_what_the_protocol_says(examination: Examination) -> None:
    """A patient operated on within 12 weeks is not made to squat or hop; what is withheld says why."""
    advice = run_workup(examination).advice
    assert advice is not None
    forbidden = {sign.id for sign in PROTOCOL.signs if "recent_surgery" in {a.id for a in sign.avoid_when}}
    assert not {step.id for step in advice.bedside} & forbidden
    assert {each.id for each in advice.withheld} & forbidden


@pytest.mark.parametrize(
    ("examination", "recent"),
    [
        (operated(0), True),
        (operated(84), True),
        (operated(85), False),
        (operated(), False),
        (operated(said={"major_surgery_12_weeks": True}), False),
        (operated(said={"previous_surgery": True}), False),
        (operated(said={"major_surgery_12_weeks": True, "previous_surgery": False}), False),
        (operated(said={"major_surgery_12_weeks": True, "previous_surgery": True}), True),
        (operated(400, said={"major_surgery_12_weeks": True, "previous_surgery": True}), True),
    ],
)
def test_surgery_is_recent_for_twelve_weeks(examination: Examination, recent: bool) -> None:
    """An operation is recent to the 84th day, or when told both of this knee and of major surgery since.

    Common practice. Major surgery may have been elsewhere, and a former operation long ago: neither answer
    alone says that this knee was operated on recently.
    """
    assert forbidden_by_surgery(examination) is recent


def test_surgery_on_the_other_knee_forbids_nothing_here() -> None:
    """A left knee repaired a month ago leaves the right one to be examined with force."""
    assert not forbidden_by_surgery(operated(30, sides=(LEFT,)))


@pytest.mark.parametrize("name", [ProcedureName.EXERCISE_PROGRAMME, ProcedureName.STRETCHING_PROGRAMME])
def test_a_programme_of_exercises_is_no_surgery(name: ProcedureName) -> None:
    """Exercises begun a month ago are recorded as a procedure, and forbid no force."""
    assert not forbidden_by_surgery(operated(30, name=name))


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


def test_what_was_not_examined_may_be_suggested() -> None:
    """A manoeuvre stated as not examined is suggested like one that is not mentioned at all."""

    def suggestions(examination: Examination) -> dict[str, str]:
        advice = run_workup(examination).advice
        assert advice is not None
        return {step.id: step.kind for step in advice.bedside}

    silent = suggestions(not_examined("lachman").without("lachman", RIGHT))
    first = next(sign for sign, kind in silent.items() if kind == "manoeuvre")
    assert suggestions(not_examined(first)) == silent


def test_what_pain_prevented_is_not_suggested_again() -> None:
    """A pivot shift that pain prevented is not asked for again now."""
    advice = run_workup(not_examined("lachman")).advice
    assert advice is not None
    assert "pivot_shift" not in {step.id for step in advice.bedside}


@pytest.mark.parametrize("name", CASES)
def test_steps_are_ranked_by_what_they_tell_for_time_and_pain(name: str) -> None:
    """Steps stand by bits a minute, pain counting as minutes; each tells something.

    So do images, but for those that treatment rests on, which come before the others.
    """
    advice = worked_up(name).advice
    assert advice is not None
    rates = [step.bits_per_minute for step in advice.bedside]
    assert rates == sorted(rates, reverse=True)
    for step in advice.bedside:
        sign = PROTOCOL.sign(step.id)
        assert step.bits_per_minute == pytest.approx(step.bits / step.minutes / (1 + sign.hurts))
        assert step.kind == ("question" if sign.is_history else "manoeuvre")
        assert sign.kind is not Kind.COURTESY
    resting = [image.purpose is not None for image in advice.images]
    assert resting == sorted(resting, reverse=True)
    telling = [image for image in advice.images if image.purpose is None]
    rates = [image.bits_per_minute for image in telling]
    assert rates == sorted(rates, reverse=True)
    for image in advice.images:
        assert image.bits_per_minute == pytest.approx(image.bits / image.minutes)
    assert all(step.bits >= 0.01 for step in advice.bedside)
    assert all(image.bits >= 0.05 for image in telling)


@pytest.mark.parametrize("name", CASES)
def test_outlooks_average_to_what_is_known_now(name: str) -> None:
    """The chances of a step's outcomes add up to 1; its sources are named."""
    advice = worked_up(name).advice
    assert advice is not None
    for step in (*advice.first, *advice.bedside, *advice.images):
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
    """With everything examined and pointing one way, nothing at the bedside changes the plan or is named."""
    advice = worked_up("clear_tear").advice
    assert advice is not None
    assert advice.enough
    assert not advice.bedside
    assert advice.images


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
    return (*advice.first, *advice.images)[0].id


def test_the_image_that_shows_what_is_suspected_leads() -> None:
    """Aspiration leads for a septic joint; for a torn cruciate MRI, after the films (common practice)."""
    assert leading_image("septic") == "aspiration"
    torn = worked_up("clear_tear").advice
    assert torn is not None
    assert [each.id for each in (*torn.first, *torn.images)][:2] == ["radiograph", "mri"]


def test_radiographs_lead_where_the_fracture_rule_is_met() -> None:
    """With the Ottawa knee rule met the first image is a radiograph (Stiell 1996 JAMA 275:611)."""
    assert any(alarm.rule == "ottawa_knee" for alarm in worked_up("fracture").alarms)
    assert leading_image("fracture") == "radiograph"


def test_a_met_alarm_alone_forbids() -> None:
    """An alarm forbids even where the probabilities do not: rules stand above the model."""
    sound = chances(KneeEvidence(setting=Setting(symptomatic=False), observations=()))
    met = [
        alarm
        for alarm in worked_up("fracture").alarms
        if alarm.verdict is Verdict.MET and alarm.contraindicates
    ]
    assert met
    forced = contraindications(sound, exam(), tuple(met), RIGHT)
    assert {each for alarm in met if alarm.side in (RIGHT, None) for each in alarm.contraindicates} <= forced
    opened = tuple(replace(alarm, verdict=Verdict.CANNOT_BE_EXCLUDED) for alarm in met)
    assert contraindications(sound, exam(), opened, RIGHT) == contraindications(sound, exam(), (), RIGHT)


def test_no_image_is_named_whose_result_would_change_nothing() -> None:
    """A sore tubercle at 13 needs no ultrasound, a knee in which all is normal no image at all.

    Guidelines on imaging ask for an image where its result alters management (common practice).
    """
    sore = {"tenderness_tibial_tubercle": True, "tubercle_prominent": True, "hip_rotation_pain": False}
    growing = exam(sore, said={"pain_anterior": True}, age=13, acuity=Acuity.CHRONIC, complaint=(RIGHT,))
    normal = dict.fromkeys(("effusion", "lachman", "mcmurray_medial", "joint_line_tenderness_medial"), False)
    for examination in (growing, exam(normal, said={"night_pain": False}, age=28, complaint=(RIGHT,))):
        advice = run_workup(examination).advice
        assert advice is not None
        told = [step for step in advice.images if step.purpose is None]
        assert all(
            any((each.now >= PLAN_CHANGES_AT) is not (each.then >= PLAN_CHANGES_AT) for each in step.outlooks)
            for step in told
        ), told
        assert "ultrasound" not in {step.id for step in told}


def test_a_lump_is_looked_at_by_ultrasound_first() -> None:
    """Guidelines of cancer and of sarcoma begin with ultrasound (NG12; UK guidelines 2024, table 2).

    Magnetic resonance imaging follows where it is unclear or suspicious.
    """
    absent = ("popliteal_mass", "effusion", "prepatellar_swelling", "bony_enlargement", "crepitus")
    lump = {**dict.fromkeys(absent, False), "palpable_mass": True, "mass_size": 3.0}
    said = {"lump_noticed": True, "lump_growing": False}
    advice = run_workup(exam(lump, said=said, age=40, acuity=Acuity.CHRONIC, complaint=(RIGHT,))).advice
    assert advice is not None
    named = [step.id for step in advice.images]
    assert named[0] == "ultrasound"


def test_all_an_image_shows_is_told_together() -> None:
    """The rows of one image belong together wherever they stand in the table; none replaces another."""
    images = load_model().knowledge.images
    grouped = [{row.image for row in rows} for rows in _by_image(load_model())]
    assert all(len(names) == 1 for names in grouped)
    assert len({min(names) for names in grouped}) == len(grouped)
    assert sorted(row.lesion for rows in _by_image(load_model()) for row in rows) == sorted(
        row.lesion for row in images if row.lesion not in NOT_TAKEN_FOR.get(row.image, ())
    )
    film = next(rows for rows in _by_image(load_model()) if rows[0].image == "radiograph")
    assert {"tibial_plateau_fracture", "osteoarthritis"} <= {row.lesion for row in film}
