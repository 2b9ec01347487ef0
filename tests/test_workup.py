"""The whole chain: alarms stand on their own, failures are worded, nothing that can be recorded breaks it."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from dataclasses import replace
from typing import NoReturn

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from fabella.errors import EvidenceError, FabellaError
from fabella.evidence import LATEST, Edition, load_edition
from fabella.flags import cannot_wait
from fabella.infer import Model, load_model
from fabella.protocol import load_protocol
from fabella.record import Acuity, Context, Examination
from fabella.workup import Workup, run_workup
from tests.advise.cases import CASES, LEFT, RIGHT, mirrored, worked_up
from tests.flags.build import exam
from tests.strategies import examinations

PROTOCOL = load_protocol()

EXPECTED_ERRORS = (
    EvidenceError("model/causes.csv line 7: 1.4 is not a probability"),
    FileNotFoundError("no such table"),
    ValueError("could not convert string to float: 'x'"),
    KeyError("lachman"),
    ZeroDivisionError("division by zero"),
)
UNEXPECTED_ERRORS = (
    RuntimeError("dictionary changed size during iteration"),
    TypeError("unsupported operand"),
    AttributeError("no attribute 'signs'"),
    MemoryError("out of memory"),
)


def broken(error: Exception) -> Callable[[], NoReturn]:
    """Something that fails when it is asked for."""

    def fail() -> NoReturn:
        raise error

    return fail


def named(errors: tuple[Exception, ...]) -> list[str]:
    """Names for the parameters of a test."""
    return [type(error).__name__ for error in errors]


@pytest.mark.parametrize("name", CASES)
def test_the_chain_runs_on_every_case(name: str) -> None:
    """Alarms, grades, conclusion about both knees and advice are all there, and nothing failed."""
    workup = worked_up(name)
    assert workup.failures == ()
    assert workup.conclusion is not None
    assert workup.advice is not None
    assert [knee.side for knee in workup.conclusion.knees] == [RIGHT, LEFT]
    assert workup.edition
    assert workup.version
    assert workup.alarms == cannot_wait(CASES[name], protocol=PROTOCOL)


@pytest.mark.parametrize("name", ["septic", "fracture", "dislocated"])
@pytest.mark.parametrize("error", EXPECTED_ERRORS, ids=named(EXPECTED_ERRORS))
def test_a_broken_model_silences_no_alarm(error: Exception, name: str) -> None:
    """When the model cannot be compiled the alarms are all there, and one sentence says what failed."""
    workup = run_workup(CASES[name], model=broken(error))
    assert workup.alarms == worked_up(name).alarms
    assert workup.alarms
    assert workup.graded == worked_up(name).graded
    assert workup.conclusion is None
    assert workup.advice is None
    assert len(workup.failures) == 1
    assert workup.failures[0].startswith("the conclusion could not be computed: ")


@pytest.mark.parametrize("error", EXPECTED_ERRORS, ids=named(EXPECTED_ERRORS))
def test_a_broken_edition_silences_no_alarm(error: Exception) -> None:
    """When the evidence cannot be read the alarms are all there, and one sentence says so."""
    workup = run_workup(CASES["septic"], edition=broken(error))
    assert workup.alarms == worked_up("septic").alarms
    assert len(workup.failures) == 1
    assert workup.failures[0].startswith("the evidence could not be computed: ")
    assert workup.graded == ()
    assert workup.edition == LATEST


@pytest.mark.parametrize("error", UNEXPECTED_ERRORS, ids=named(UNEXPECTED_ERRORS))
def test_a_fault_of_the_program_silences_no_alarm(error: Exception) -> None:
    """Whatever evidence or model raise, even a fault of the program, the alarms stand; nothing is raised."""
    for workup in (
        run_workup(CASES["septic"], model=broken(error)),
        run_workup(CASES["septic"], edition=broken(error)),
    ):
        assert workup.alarms == worked_up("septic").alarms
        assert workup.conclusion is None
        assert [each.endswith(f": {error}") for each in workup.failures] == [True]


@pytest.mark.parametrize("at_fault", ["the evidence", "the grading"])
def test_without_grades_nothing_is_concluded(at_fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without grades no conclusion is drawn, as the findings did not enter; one sentence says why."""
    fail = broken(EvidenceError("no table"))
    if at_fault == "the grading":
        monkeypatch.setattr("fabella.workup.grade", lambda *_, **__: fail())
        workup = run_workup(CASES["clear_tear"])
    else:
        workup = run_workup(CASES["clear_tear"], edition=fail)
    assert workup.alarms == worked_up("clear_tear").alarms
    assert workup.graded == ()
    assert workup.conclusion is None
    assert workup.advice is None
    assert workup.failures == (f"{at_fault} could not be computed: no table",)


def test_the_first_fault_is_said_once() -> None:
    """With evidence and model both unreadable there are alarms and one sentence: the model is not asked."""
    error = EvidenceError("no table")
    workup = run_workup(CASES["septic"], edition=broken(error), model=broken(error))
    assert workup.alarms == worked_up("septic").alarms
    assert workup.failures == ("the evidence could not be computed: no table",)


def test_the_edition_named_is_the_one_used() -> None:
    """Workup and conclusion name the edition that graded, not the latest."""
    workup = run_workup(CASES["locked"], edition=lambda: replace(load_edition(), id="2031.4"))
    assert workup.conclusion is not None
    assert workup.edition == workup.conclusion.edition == "2031.4"
    assert worked_up("locked").edition == LATEST


def test_failing_advice_leaves_the_conclusion() -> None:
    """When only the next step fails the conclusion stands."""
    asked = 0

    def once() -> Model:
        nonlocal asked
        asked += 1
        if asked > 1:
            raise FabellaError("no more")
        return load_model()

    workup = run_workup(CASES["locked"], model=once)
    assert workup.conclusion == worked_up("locked").conclusion
    assert workup.advice is None
    assert workup.failures == ("the next step could not be computed: no more",)


def test_alarms_come_first() -> None:
    """Neither evidence nor model is asked for before the alarms are known: what loads them can see that."""
    order: list[str] = []

    def edition() -> Edition:
        order.append("edition")
        return load_edition()

    def model() -> Model:
        order.append("model")
        return load_model()

    run_workup(CASES["septic"], edition=edition, model=model)
    assert order[0] == "edition"
    assert order[1] == "model"


# ---------------------------------------------------------------- unfinished and odd examinations


def test_only_context_gives_the_prior() -> None:
    """An examination with nothing but age and mechanism has the prior for its conclusion, without reasons."""
    workup = worked_up("only_context")
    assert workup.conclusion is not None
    for entry in workup.conclusion.knee(RIGHT).lesions:
        assert entry.probability == pytest.approx(entry.prior, abs=1e-9)
        assert entry.reasons_for == entry.reasons_against == ()
    assert workup.graded == ()


def test_the_other_knee_is_believed_healthier() -> None:
    """A knee not complained of and not examined has the background rates, far below those of the other."""
    workup = worked_up("only_context")
    assert workup.conclusion is not None
    complaint, silent = workup.conclusion.knees
    assert complaint.symptomatic
    assert not silent.symptomatic
    assert silent.nothing_listed > 0.5 > complaint.nothing_listed


@settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow])
@given(examinations(PROTOCOL, max_findings=30, max_answers=12))
def test_any_examination_is_worked_up(examination: Examination) -> None:
    """Whatever can be recorded is worked up without a failure, and every probability is one."""
    workup = run_workup(examination)
    assert workup.failures == ()
    assert workup.alarms == cannot_wait(examination, protocol=PROTOCOL)
    assert workup.conclusion is not None
    for knee in workup.conclusion.knees:
        for entry in knee.lesions:
            assert 0 <= entry.low <= entry.probability + 1e-9
            assert entry.probability <= entry.high + 1e-9 <= 1 + 2e-6
            assert np.isfinite([entry.prior, entry.grounding.published]).all()


@pytest.mark.parametrize("name", ["clear_tear", "locked", "worn_both"])
def test_a_mirrored_person_has_mirrored_knees(name: str) -> None:
    """Swapping right and left swaps the conclusions to the last digit, but for the dice of the fit."""
    own, other = worked_up(name).conclusion, run_workup(mirrored(CASES[name])).conclusion
    assert own is not None
    assert other is not None
    assert own.knee(RIGHT).lesions == other.knee(LEFT).lesions
    assert own.knee(LEFT).lesions == other.knee(RIGHT).lesions


def test_the_same_file_gives_the_same_answer() -> None:
    """Two runs of one examination agree in everything, whatever else was computed between them."""
    first = worked_up("clear_tear")
    run_workup(CASES["septic"])
    assert run_workup(CASES["clear_tear"]) == first


def conclusion_of(workup: Workup) -> dict[str, float]:
    """The probability of each lesion of the right knee."""
    assert workup.conclusion is not None
    return {entry.lesion: entry.probability for entry in workup.conclusion.knee(RIGHT).any_level()}


def test_unknown_circumstances_are_between_known_ones() -> None:
    """Without the acuity a torn ligament is as likely as some mixture of acute and chronic."""
    found = {"lachman": "1+"}
    base = exam(found, age=30)
    acl = {
        acuity: conclusion_of(run_workup(replace(base, context=Context(acuity=acuity, complaint=(RIGHT,)))))[
            "acl_tear"
        ]
        for acuity in (Acuity.ACUTE, Acuity.CHRONIC, None)
    }
    low, high = sorted((acl[Acuity.ACUTE], acl[Acuity.CHRONIC]))
    assert low - 0.02 <= acl[None] <= high + 0.02


def test_a_workup_travels_between_processes() -> None:
    """What one process works out another can be sent, reasons and all, and it stays small."""
    workup = run_workup(CASES["clear_tear"])
    sent = pickle.dumps(workup)
    assert pickle.loads(sent) == workup  # noqa: S301  our own
    assert len(sent) < 2_000_000
