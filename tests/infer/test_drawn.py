from datetime import date

import numpy as np
import pytest

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.infer import load_model
from fabella.infer.drawn import Drawn, draw_examinations, drawable
from fabella.protocol import load_protocol
from fabella.record import (
    Acuity,
    Context,
    Mechanism,
    Origin,
    Patient,
    Setting,
    Sex,
    State,
    check_examination,
)
from fabella.workup import ANY_LEVEL, run_workup

PATIENT = Patient(age_years=27, sex=Sex.FEMALE)
CONTEXT = Context(setting=Setting.EMERGENCY, acuity=Acuity.ACUTE, mechanism=Mechanism.TWIST)


def draw(
    n: int,
    *,
    seed: int = 1,
    names: tuple[str, ...] | None = None,
    routine: bool = False,
    lesions: tuple[tuple[str, str], ...] = (),
    context: Context = CONTEXT,
) -> list[Drawn]:
    """Draw examinations of a young woman who twisted her knee."""
    model = load_model()
    signs = drawable(model, load_protocol(), names, routine=routine)
    rng = np.random.default_rng(seed)
    return list(draw_examinations(model, signs, n, rng, patient=PATIENT, context=context, lesions=lesions))


def test_every_drawn_examination_is_a_valid_file() -> None:
    """Whatever is drawn, with all signs, could have been written down: the reader takes it."""
    for drawn in draw(300):
        check_examination(drawn.examination, protocol=load_protocol(), today=date(2100, 1, 1))
        assert drawn.examination.origin is Origin.SIMULATED


def test_the_same_seed_draws_the_same() -> None:
    """Equal dice give equal examinations, other dice others, and each has an id of its own."""
    one, again, other = draw(20), draw(20), draw(20, seed=2)
    assert one == again
    assert [each.examination.findings for each in one] != [each.examination.findings for each in other]
    assert len({each.examination.id for each in draw(1200, names=("lachman",))}) == 1200


def test_the_knee_complained_of_has_the_lesions_asked_for() -> None:
    """A lesion asked for is in that knee at its level; the side is drawn, or the one complained of."""
    for drawn in draw(100, names=("lachman",), lesions=(("acl_tear", "complete"), ("mcl_tear", ""))):
        (side,) = drawn.examination.context.complained_of
        assert ("acl_tear", "complete") in drawn.lesions[side]
        assert any(lesion == "mcl_tear" for lesion, _ in drawn.lesions[side])
    sides = [each.examination.context.complained_of[0] for each in draw(400, names=("lachman",))]
    assert 160 < sides.count(Side.RIGHT) < 240  # four standard errors of a fair coin
    left = Context(complaint=(Side.LEFT,))
    assert {each.examination.context.complaint for each in draw(20, context=left)} == {(Side.LEFT,)}


def test_what_is_asked_for_is_stated_on_both_knees() -> None:
    """Each sign of the hands stands on both sides, questions in the history, signs of the person once."""
    names = ("lachman", "effusion", "pop_heard", "body_temperature", "passive_flexion")
    for drawn in draw(50, names=names):
        found = {(each.sign, each.side) for each in drawn.examination.findings}
        hands = {(sign, side) for sign in ("lachman", "effusion", "passive_flexion") for side in Side}
        assert found == {*hands, ("body_temperature", None)}
        assert set(drawn.examination.history) == {"pop_heard"}


def test_guarding_prevents_all_stress_tests_of_a_knee_or_none() -> None:
    """Within one knee stress tests are prevented together, oftener where the knee guards; nothing else is."""
    counts = {True: [0, 0], False: [0, 0]}
    for drawn in draw(600, names=("lachman", "pivot_shift", "effusion")):
        for side in Side:
            states = [drawn.examination.state(sign, side) for sign in ("lachman", "pivot_shift")]
            prevented = states[0] is State.UNTESTABLE
            assert (states[1] is State.UNTESTABLE) == prevented
            assert drawn.examination.state("effusion", side) is not State.UNTESTABLE
            counts[drawn.guarding[side]][prevented] += 1
    often, seldom = (counts[guarding][1] / sum(counts[guarding]) for guarding in (True, False))
    assert often > 5 * seldom


def test_names_that_cannot_be_drawn_are_listed_together() -> None:
    """Every wrong name is told, with what is wrong with it."""
    with pytest.raises(InputError) as refused:
        draw(1, names=("lachmann", "swelling_onset_hours", "lachman", "walking_aid"))
    told = {problem.value: str(problem) for problem in refused.value.problems}
    assert set(told) == {"lachmann", "swelling_onset_hours", "walking_aid"}
    assert "did you mean lachman" in told["lachmann"]
    with pytest.raises(InputError, match="cannot be in one knee"):
        draw(1, lesions=(("acl_tear", "partial"), ("acl_tear", "complete")))


def test_concluding_from_drawn_examinations_is_calibrated() -> None:
    """Over whole examinations, lesions are present as often as the conclusions say (4 standard errors).

    Each examination of both knees goes through the whole workup; its error is the number of lesions
    expected less the number there, over everything, and for the cruciate ligament alone.
    """
    errors = []
    for drawn in draw(60, routine=True, seed=4):
        conclusion = run_workup(drawn.examination).conclusion
        assert conclusion is not None
        error = np.zeros(2)
        for side in Side:
            there = {lesion for lesion, _ in drawn.lesions[side]}
            for entry in conclusion.knee(side).lesions:
                if entry.level == ANY_LEVEL:
                    error += np.array([1, entry.lesion == "acl_tear"]) * (
                        entry.probability - (entry.lesion in there)
                    )
        errors.append(error)
    mean, spread = np.mean(errors, axis=0), np.std(errors, axis=0, ddof=1) / np.sqrt(len(errors))
    assert np.all(np.abs(mean) < 4 * spread), (mean, spread)
    assert np.all(spread < 0.2)


def test_who_has_what_only_a_prosthesis_has_has_a_prosthesis() -> None:
    """Whoever is drawn with a loose prosthesis says that it is one, and has nothing that was taken away.

    All others say that it is none: what is drawn is concluded as what it is.
    """
    model = load_model()
    loose = draw(40, names=("effusion",), lesions=(("prosthesis_loosening", ""),))
    gone = {lesion.id for lesion in model.lesions.values() if lesion.native}
    for each in loose:
        assert each.examination.history["knee_prosthesis"] is True
        (side,) = each.examination.context.complained_of
        assert not gone & {lesion for lesion, _ in each.lesions[side]}
    native = draw(200, names=("knee_prosthesis",))
    assert all(each.examination.history["knee_prosthesis"] is False for each in native)
