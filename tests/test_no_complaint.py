"""An examination of which nobody complains, through the whole chain: concluded, advised on, told."""

import json
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from fabella.anatomy import Side
from fabella.infer.context import Setting
from fabella.protocol import load_protocol
from fabella.record import Examination, State, read_examination
from fabella.report import as_text, build_letter, build_summary, letter_document
from fabella.report.story import history_words
from fabella.workup import Workup, load_model, run_workup


def examined(**context: Any) -> Examination:
    """A man of 19 whose knees are normal as far as they were examined."""
    findings = [{"sign": "lachman", "side": side, "state": "normal"} for side in Side]
    findings += [{"sign": "effusion_sweep", "side": side, "state": "normal"} for side in Side]
    tree = {
        "format": "fabella.examination/1",
        "id": "fit",
        "origin": "invented",
        "patient": {"age_years": 19, "sex": "male"},
        "context": {"setting": "primary_care", **context},
        "findings": findings,
    }
    return read_examination(json.dumps(tree), protocol=load_protocol(), today=date(2026, 1, 1))


def nothing(workup: Workup, side: Side) -> float:
    """How probable it is that a knee has none of the lesions."""
    assert workup.conclusion is not None
    return workup.conclusion.knee(side).nothing_listed


def test_a_fitness_examination_is_concluded_as_one() -> None:
    """Normal knees of which nobody complains have most likely nothing, and nothing is left to be done."""
    fit = run_workup(examined(complaint="none"))
    for side in Side:
        assert nothing(fit, side) > 0.85
    assert fit.advice is not None
    assert fit.advice.enough
    assert not [*fit.advice.first, *fit.advice.bedside, *fit.advice.images]


def test_where_nothing_is_said_something_has_to_explain_the_visit() -> None:
    """An unknown complaint, also as an empty list, stays what it was: both knees may be why somebody came."""
    unknown, empty = run_workup(examined()), run_workup(examined(complaint=[]))
    assert unknown.conclusion == empty.conclusion
    for side in Side:
        assert nothing(unknown, side) < 0.3
        assert unknown.conclusion is not None
        assert unknown.conclusion.knee(side).symptomatic


def test_each_knee_is_concluded_as_the_sound_one_beside_a_bad_one() -> None:
    """A knee is not complained of alike, whether the other is or not: what is found in it counts the same."""
    fit, other = run_workup(examined(complaint="none")), run_workup(examined(complaint=["left"]))
    assert fit.conclusion is not None
    assert other.conclusion is not None
    assert fit.conclusion.knee(Side.RIGHT) == other.conclusion.knee(Side.RIGHT)


def test_a_loose_knee_of_which_nobody_complains_is_found_and_imaged() -> None:
    """A Lachman test of 3+ at a screening raises the tear; no question about the knee is proposed then."""
    sound = examined(complaint="none")
    lachman = replace(sound.findings[0], side=Side.RIGHT, state=State.ABNORMAL, level="3+")
    workup = run_workup(sound.with_finding(lachman))
    assert workup.conclusion is not None
    assert workup.advice is not None
    assert workup.conclusion.knee(Side.RIGHT).any_level()[0].lesion == "acl_tear"
    assert [step.side for step in workup.advice.images] == [Side.RIGHT] * len(workup.advice.images)
    assert workup.advice.images
    protocol = load_protocol()
    asked = [step.id for step in workup.advice.bedside if protocol.sign(step.id).is_history]
    assert not [each for each in asked if not protocol.sign(each).is_person]


@pytest.mark.parametrize(
    ("context", "said"),
    [
        ({"complaint": "none"}, "If your knees begin to trouble you, come back."),
        ({"complaint": ["left"]}, "If the trouble goes on, come back."),
    ],
)
def test_whoever_has_no_trouble_is_not_told_that_it_may_go_on(context: dict[str, Any], said: str) -> None:
    """The patient's page tells a healthy volunteer when to come, and another that trouble may go on."""
    workup = run_workup(examined(**context))
    assert workup.conclusion is not None
    knees = tuple(replace(each, lesions=()) for each in workup.conclusion.knees)  # none likely enough to name
    sound = replace(workup.conclusion, knees=knees)
    quiet = replace(workup, conclusion=sound, advice=None)  # nothing open
    assert said in build_summary(quiet, written_on=date(2026, 1, 1)).may_mean


@pytest.mark.parametrize("sex", ["female", "male"])
@pytest.mark.parametrize("age_years", [18, 25, 39])
def test_tears_without_complaint_are_as_common_as_scans_show(age_years: float, sex: str) -> None:
    """Below 40, 4 % (2 to 7 %) of knees without pain or injury show a torn meniscus in a scan.

    Source: Culvenor 2019 Br J Sports Med 53:1268-78.
    """
    model = load_model()
    own = Setting(age_years=age_years, sex=sex, symptomatic=False)
    prior = model.prior(own).probability
    torn = model.states.having("medial_meniscus_tear") | model.states.having("lateral_meniscus_tear")
    assert 0.02 < prior[torn].sum() < 0.07


def test_trouble_told_though_nobody_complains_is_asked_about() -> None:
    """What was answered of a knee is weighed for neither, and the letter asks of which it was told."""
    fit = examined(complaint="none")
    asked = "Nobody complains, yet of a knee is told giving way: of which?"
    for history, told in (
        ({"giving_way": True}, True),
        ({"giving_way": False, "previous_surgery": True}, False),
    ):
        workup = run_workup(replace(fit, history=history))
        assert nothing(workup, Side.RIGHT) == nothing(run_workup(fit), Side.RIGHT)
        assert (asked in as_text(letter_document(build_letter(workup, written_on=date(2026, 1, 1))))) is told


@pytest.mark.parametrize(
    ("context", "said"),
    [
        ({"complaint": "none"}, "No complaint of either knee."),
        ({}, "Knee complaint, side not stated."),
        ({"complaint": ["left"]}, "Left knee."),
    ],
)
def test_the_letter_says_whether_anybody_complains(context: dict[str, Any], said: str) -> None:
    """Neither knee, an unknown one and one of them are three different openings."""
    assert history_words(examined(**context), load_protocol()) == said
