"""From a graded examination to evidence: sides, silence, summaries and acuity."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.anatomy import Side
from fabella.evidence import load_edition
from fabella.evidence.knowledge import load_knowledge
from fabella.grade import grade
from fabella.infer import KneeEvidence, knees, load_model
from fabella.infer.findings import acuity_of, symptomatic_sides
from fabella.protocol import load_protocol
from fabella.record import (
    Acuity,
    Context,
    Examination,
    Finding,
    Origin,
    Patient,
    Procedure,
    ProcedureName,
    Reason,
    Sex,
    State,
    read_examination,
)
from fabella.record import Setting as Clinic
from fabella.workup import run_workup
from tests.advise.cases import mirrored
from tests.flags.build import LEFT, RIGHT, Found, exam, finding
from tests.strategies import examinations

PROTOCOL = load_protocol()


def evidence(examination: Examination) -> dict[Side, KneeEvidence]:
    """What is said about each knee."""
    graded = grade(examination, edition=load_edition(), protocol=PROTOCOL)
    return knees(examination, graded, protocol=PROTOCOL, knowledge=load_knowledge())


def sorted_by_sign(one: KneeEvidence) -> KneeEvidence:
    """The same evidence in order of sign."""
    return replace(
        one,
        observations=tuple(sorted(one.observations, key=lambda each: each.sign)),
        unused=tuple(sorted(one.unused)),
    )


@settings(max_examples=60)
@given(examinations(PROTOCOL))
def test_swapping_sides_mirrors_the_evidence(examination: Examination) -> None:
    """Everything said of the right knee is said of the left one of the mirrored person, and the reverse."""
    own, other = evidence(examination), evidence(mirrored(examination))
    for side in Side:
        mirror = RIGHT if side is LEFT else LEFT
        assert sorted_by_sign(own[side]) == sorted_by_sign(other[mirror])


@settings(max_examples=40)
@given(examinations(PROTOCOL), st.data())
def test_what_was_not_examined_says_nothing(examination: Examination, data: st.DataObject) -> None:
    """A further sign stated as not examined, or not testable for lack of time, changes no knee's evidence."""
    free = [
        sign.id
        for sign in PROTOCOL.signs
        if not sign.is_history
        and not sign.is_person
        and sign.id not in {each.sign for each in examination.findings}
    ]
    silent = Finding(sign=data.draw(st.sampled_from(free)), side=RIGHT, state=State.NOT_EXAMINED)
    untested = Finding(
        sign=data.draw(st.sampled_from(free)), side=LEFT, state=State.UNTESTABLE, reason=Reason.OTHER
    )
    before = evidence(examination)
    after = evidence(replace(examination, findings=(*examination.findings, silent, untested)))
    if before[RIGHT].setting.symptomatic == after[RIGHT].setting.symptomatic:
        assert before == after


def test_an_unknown_answer_is_not_a_no() -> None:
    """A history item that was not asked is no evidence; one answered no is."""
    asked, unasked = evidence(exam(said={"locking": False})), evidence(exam())
    assert [each.sign for each in asked[RIGHT].observations] == ["locking"]
    assert not asked[RIGHT].observations[0].abnormal
    assert not unasked[RIGHT].observations


def test_history_concerns_the_knee_complained_of() -> None:
    """The other knee carries neither the story nor the mechanism."""
    found = evidence(exam(said={"pop_heard": True}, complaint=(LEFT,)))
    assert [each.sign for each in found[LEFT].observations] == ["pop_heard"]
    assert not found[RIGHT].observations
    assert not found[RIGHT].setting.symptomatic


def test_without_a_complaint_the_abnormal_knee_is_explained() -> None:
    """When no complaint is stated the knee with abnormal findings is taken as complained of, else both."""

    def sides(examination: Examination) -> tuple[Side, ...]:
        return symptomatic_sides(examination, grade(examination, edition=load_edition(), protocol=PROTOCOL))

    assert sides(exam({"lachman": "2+"}, {"lachman": False}, complaint=None)) == (RIGHT,)
    assert sides(exam({"lachman": False}, complaint=None)) == (RIGHT, LEFT)


def test_when_nobody_complains_no_knee_is_explained() -> None:
    """Neither an abnormal finding nor an answer makes a knee one that is complained of.

    What the whole person tells or shows concerns both; a yes about a knee is named as not used.
    """
    said = {"fever": True, "giving_way": True, "locking": False}
    found = evidence(exam({"lachman": "2+"}, {"lachman": False}, said=said, complaint=()))
    for side, own in found.items():
        assert not own.setting.symptomatic, side
        assert {each.sign for each in own.observations} == {"lachman", "fever"}
        assert own.unused == ("giving_way",)


def test_guarding_is_seen_only_when_a_stress_test_was_prevented() -> None:
    """A pivot shift stopped by guarding shows a guarding knee; a squat stopped by pain does not."""

    def guarded(sign: str) -> bool:
        stopped = Finding(sign=sign, side=RIGHT, state=State.UNTESTABLE, reason=Reason.GUARDING)
        return evidence(replace(exam(), findings=(stopped,)))[RIGHT].guarded

    assert guarded("pivot_shift")
    assert guarded("valgus_stress_30")
    assert not guarded("single_leg_squat")


def test_a_summary_is_not_counted_beside_its_parts() -> None:
    """Joint lines recorded one by one leave the unsided sign out; alone it counts."""
    both = evidence(exam({"joint_line_tenderness": True, "joint_line_tenderness_medial": True}))[RIGHT]
    assert [each.sign for each in both.observations] == ["joint_line_tenderness_medial"]
    alone = evidence(exam({"joint_line_tenderness": True}))[RIGHT]
    assert [each.sign for each in alone.observations] == ["joint_line_tenderness"]


@pytest.mark.parametrize(
    ("days", "stated", "acuity"),
    [
        (0, None, "acute"),
        (14, None, "acute"),
        (15, None, "subacute"),
        (90, None, "subacute"),
        (91, None, "chronic"),
        (None, None, None),
        (300, Acuity.ACUTE, "acute"),
    ],
)
def test_days_make_the_acuity_unless_it_is_stated(
    days: float | None, stated: Acuity | None, acuity: str | None
) -> None:
    """To two weeks acute, to three months subacute (common practice); what is stated stands."""
    examination = replace(exam(), context=Context(onset_days=days, acuity=stated))
    assert acuity_of(examination) == acuity


def test_a_grade_not_given_is_any_abnormal_grade() -> None:
    """A Lachman called abnormal without a grade is compatible with every grade but normal."""
    found = evidence(replace(exam(), findings=(finding("lachman", RIGHT, what=True),)))[RIGHT]
    assert found.observations[0].weights == (0.0, 1.0, 1.0, 1.0)


def test_a_sign_without_meaning_for_the_model_is_named() -> None:
    """What the model knows no meaning for is kept by name, never dropped silently."""
    known = load_knowledge().indicators
    stranger = next(
        sign.id
        for sign in PROTOCOL.signs
        if sign.id not in known
        and not sign.is_history
        and not sign.is_person
        and sign.scale.levels
        and not sign.summary_of
    )
    found = evidence(exam({stranger: True}))[RIGHT]
    assert found.unused == (stranger,)
    assert not found.observations


def replaced(name: str | None, **history: bool) -> Examination:
    """A man with a stiff painful right knee, what was done to it, and what he answers."""
    done = None if name is None else Procedure(name=ProcedureName(name), sides=(RIGHT,), on=date(2024, 3, 1))
    return Examination(
        id="stiff",
        origin=Origin.INVENTED,
        patient=Patient(age_years=68, sex=Sex.MALE),
        context=Context(setting=Clinic.SPECIALIST_CLINIC, complaint=(RIGHT,), procedure=done),
        history=history,
        findings=(Finding(sign="passive_flexion", side=RIGHT, state=State.ABNORMAL),),
    )


@pytest.mark.parametrize(
    ("name", "history", "gone"),
    [
        ("total_knee_replacement", {}, True),
        (None, {"knee_prosthesis": True}, True),
        ("partial_knee_replacement", {"knee_prosthesis": True}, False),
        ("arthroscopy", {}, False),
        (None, {"knee_prosthesis": False}, False),
    ],
)
def test_a_replaced_knee_has_no_worn_cartilage_and_no_meniscus(
    name: str | None, history: dict[str, bool], gone: bool
) -> None:
    """A total replacement takes away what wears and tears (common practice); the other knee keeps its own."""
    model = load_model()
    priors = {
        side: model.prior_target(own.setting) for side, own in evidence(replaced(name, **history)).items()
    }
    slot = {lesion: i for i, (lesion, _) in enumerate(model.states.slots)}
    for lesion in ("osteoarthritis", "medial_meniscus_tear", "acl_tear", "osteonecrosis"):
        assert bool(priors[RIGHT][slot[lesion]] == 0) is gone, lesion
        assert priors[LEFT][slot[lesion]] > 0, lesion
    for lesion in ("arthrofibrosis", "patellar_fracture", "mcl_tear"):
        assert priors[RIGHT][slot[lesion]] > 0, lesion


@pytest.mark.parametrize(
    ("name", "days", "lately"),
    [
        ("acl_reconstruction", 90, True),
        ("acl_reconstruction", 365, True),
        ("acl_reconstruction", 366, False),
        ("exercise_programme", 90, False),
        (None, 0, False),
    ],
)
def test_an_operation_counts_as_lately_for_a_year(name: str | None, days: int, lately: bool) -> None:
    """Of the knee that was operated on, from the dates on record; exercises are no operation."""
    seen = replace(replaced(name), examined_on=date(2024, 3, 1) + timedelta(days=days))
    found = evidence(seen)
    assert found[RIGHT].setting.operated_lately is lately
    assert not found[LEFT].setting.operated_lately


def test_what_a_prosthesis_no_longer_has_cannot_be_tested() -> None:
    """Tests of the cruciate and the menisci tell nothing of a prosthesis, and are named as not used.

    That it was operated on is known of it, and so says nothing either; the drawer tests how steady it is.
    """
    recorded: dict[str, Found] = {"lachman": "2+", "mcmurray": True, "anterior_drawer": "2+", "scar": True}
    seen = exam(recorded, said={"knee_prosthesis": True, "previous_surgery": True})
    found = evidence(seen)[RIGHT]
    assert found.setting.replaced
    assert {each.sign for each in found.observations} == {"anterior_drawer"}
    assert set(found.unused) == {"lachman", "mcmurray"}
    for void in found.setting.void:
        assert void in PROTOCOL


def test_in_which_order_findings_were_recorded_makes_no_difference() -> None:
    """The conclusion of a knee is the same to the last digit, its draws for the check of fit included."""
    text = (Path(__file__).parents[2] / "examples" / "two_years_of_pain.json").read_text("utf-8")
    there = read_examination(text, protocol=PROTOCOL, today=date(2026, 11, 25))
    back = replace(there, findings=there.findings[::-1])
    first, second = run_workup(there), run_workup(back)
    assert first.conclusion is not None
    assert first.conclusion == second.conclusion
    assert first.advice == second.advice
