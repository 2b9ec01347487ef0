"""What is very rare at a patient's age is told as such."""

from dataclasses import replace

import pytest

from fabella.infer import load_model
from fabella.teach import Act, Event, begin, debrief, debrief_tree
from fabella.teach.playing import act
from fabella.teach.rarity import OUT_OF_AGE, VERY_RARE, Rarity, rarest_for_age
from fabella.teach.run import Terms
from fabella.teach.wording import rarity_words
from tests.teach.patients import patient_with, reasoner

LOCKED = ("medial_meniscus_tear", "displaced")


def test_a_locked_knee_of_a_small_child_is_told_as_rare() -> None:
    """The debrief of a five-year-old with a displaced tear says how rare it is, that of an adult nothing."""
    hidden = patient_with(*LOCKED, age_years=5)
    ended = act(begin(hidden, Terms(minutes=3)), Event(act=Act.FINISH))
    answer = debrief(ended, reasoner=reasoner())
    assert answer.rarest is not None
    assert (answer.rarest.lesion, answer.rarest.level, answer.rarest.age_years) == (*LOCKED, 5)
    assert debrief_tree(answer)["rarest"]["chance"] == answer.rarest.chance
    assert rarity_words(answer.rarest).startswith(
        "Medial meniscus tear (displaced, locking) is very rare at 5 years"
    )
    adult = patient_with(*LOCKED, age_years=30).person.circumstances
    assert rarest_for_age(load_model(), adult, [LOCKED]) is None


def test_rarity_is_the_share_that_the_prior_gives() -> None:
    """The chance is that of all states with the lesion before the mechanism is known, and out of its age."""
    model, known = load_model(), patient_with(*LOCKED, age_years=5).person.circumstances
    found = rarest_for_age(model, known, [LOCKED])
    assert found is not None
    assert found.chance < min(VERY_RARE, OUT_OF_AGE * found.usual_chance)
    slot = model.states.slots.index(LOCKED)
    has = (model.states.members == slot).any(axis=1)
    for age, chance in ((5.0, found.chance), (found.usual_age_years, found.usual_chance)):
        prior = model.prior(replace(known, mechanism=None, age_years=age)).probability
        assert prior[has].sum() == pytest.approx(chance, rel=0.02)


def test_what_is_rare_at_every_age_is_not_put_down_to_age() -> None:
    """A Segond fracture in an old complaint is rare in everybody, and nothing is said of age."""
    model = load_model()
    known = replace(
        patient_with("segond_fracture", "present", age_years=30).person.circumstances, acuity="chronic"
    )
    assert rarest_for_age(model, known, [("segond_fracture", "present")]) is None


def test_rarity_is_said_in_round_numbers() -> None:
    """Two digits are as many as a prior deserves."""
    rarest = Rarity(
        lesion=LOCKED[0],
        level=LOCKED[1],
        age_years=9.0,
        chance=0.0006144,
        usual_age_years=30.0,
        usual_chance=0.011234,
    )
    assert rarity_words(rarest) == (
        "Medial meniscus tear (displaced, locking) is very rare at 9 years: the model expects it in "
        "1 of 1,600 knees that come like this one, at 30 years in 1 of 89."
    )
