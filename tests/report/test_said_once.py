"""What is said once: a fall that is the mechanism, a film of both hips; and a chance in the likelier way."""

from dataclasses import replace

import pytest

from fabella.anatomy import load_lesions
from fabella.protocol import load_protocol
from fabella.record import Mechanism
from fabella.report.conclusion_words import knee_words
from fabella.report.gather import readings_of
from fabella.report.plan_words import plan_words
from fabella.report.step_words import placed, taken_on_each
from fabella.report.story import history_words
from fabella.workup import Advice, Outlook
from tests.flags.build import exam
from tests.report import made_up
from tests.report.made_up import LEFT, RIGHT

PROTOCOL = load_protocol()


@pytest.mark.parametrize(
    ("mechanism", "item", "words"),
    [
        (Mechanism.FALL_ON_KNEE, "fall_or_blunt_trauma", "fall or blow"),
        (Mechanism.MINOR_FALL, "fall_or_blunt_trauma", "fall or blow"),
        (Mechanism.PENETRATING, "penetrating_injury", "penetrating injury."),
    ],
)
def test_a_mechanism_is_not_told_again_as_an_answer(mechanism: Mechanism, item: str, words: str) -> None:
    """A yes that the mechanism says already is left out; a no, or a yes beside another mechanism, stays."""
    told = history_words(exam(said={item: True}, mechanism=mechanism), PROTOCOL).casefold()
    assert words not in told.partition(". ")[2]
    assert "no " in history_words(exam(said={item: False}, mechanism=mechanism), PROTOCOL).casefold()
    assert (
        words.rstrip(".")
        in history_words(exam(said={item: True}, mechanism=Mechanism.TWIST), PROTOCOL).casefold()
    )


def test_a_film_of_both_hips_is_of_no_knee() -> None:
    """One film shows both hips, so it is neither placed at a knee nor taken twice; a film of the knee is."""
    film = made_up.step(
        "image",
        "radiograph",
        RIGHT,
        Outlook(outcome="shown", chance=0.5, lesion="osteoarthritis", now=0.5, then=0.9),
    )
    hips = replace(film, id="hip_radiograph", name="Radiographs of the pelvis and both hips")
    assert placed(hips, "both knees") == "radiographs of the pelvis and both hips"
    assert not taken_on_each(hips)
    knee = replace(film, name="Plain radiographs")
    assert placed(knee, "both knees") == "plain radiographs, both knees"
    assert taken_on_each(knee)


@pytest.mark.parametrize(
    ("nothing", "words"),
    [
        (0.93, "no lesion stands out; very likely none of those considered, 93%"),
        (0.4, "no lesion stands out; as likely as not none of those considered, 40%"),
        (0.1, "no single lesion stands out; very likely one of those considered, 90%"),
    ],
)
def test_a_knee_without_a_leading_lesion_is_told_in_the_likelier_way(nothing: float, words: str) -> None:
    """Nobody reads "unlikely none of those": below two in five it is told how likely one of them is."""
    readings = readings_of(made_up.twisted_knee())
    told = knee_words(made_up.knee(RIGHT, nothing=nothing), readings, load_lesions(), PROTOCOL)
    assert told.verdict == words


def test_a_step_that_both_knees_need_alike_is_told_once() -> None:
    """One line asks about both knees where the numbers agree as shown; else each knee has its own."""
    outlook = Outlook(outcome="no", chance=0.4, lesion="patellofemoral_pain", now=0.4, then=0.14)
    one = replace(made_up.step("history", "Pain at the front", RIGHT, outlook), id="pain_anterior")
    other = replace(one, side=LEFT)
    advice = Advice(bedside=(one, other), images=(), withheld=(), enough=False)
    (told,) = plan_words(advice, load_lesions()).bedside
    assert told.words == "ask about pain at the front, both knees: if no, patellofemoral pain from 40% to 14%"
    question = replace(one, id="cancer_history", name="Cancer")
    (told,) = plan_words(
        replace(advice, bedside=(question, replace(question, side=LEFT))), load_lesions()
    ).bedside
    assert told.name.endswith(", for both knees")
    less = replace(other, outlooks=(replace(outlook, now=0.3),))
    assert len(plan_words(replace(advice, bedside=(one, less)), load_lesions()).bedside) == 2
