import numpy as np
from scipy.stats import permutation_test, spearmanr, ttest_ind

from fabella.anatomy import load_lesions
from fabella.teach import Terms, play_ideal
from fabella.teach.difficulty import difficulty_of
from fabella.teach.players import Played
from fabella.teach.scores import score
from tests.teach.patients import patient, reasoner

PATIENTS = 24
STATION, STUDENT_S = Terms(minutes=4), 180
LEVEL = 0.99


def score_of_a_student(played: Played) -> float:
    """The log score in bits of an informed student who has a minute less than the station."""
    done = [step.thought for step in played.steps if step.at_s + step.seconds <= STUDENT_S]
    thought = done[-1] if done else played.thought
    present = [lesion for lesion, _ in played.encounter.hidden.complaint.lesions]
    return score(thought.chances, present=present, lesions=load_lesions()).log


def test_two_halves_of_equal_difficulty_are_as_fair_to_an_informed_student() -> None:
    """Who always does what tells most scores alike on halves dealt from the easiest to the hardest.

    Difficulty is how surely the ideal examiner concludes within the time; the score is of a student who does
    the same in a minute less, so that the two are not one measurement. Mean scores are held against Welch's
    interval and against all ways of halving (scipy's permutation test), and the halves must lie closer than
    halves drawn at random usually do: otherwise the difficulty would be worth nothing.
    """
    plays = [
        play_ideal(patient(seed, curriculum="first"), STATION, reasoner())
        for seed in range(100, 100 + PATIENTS)
    ]
    sureness = [difficulty_of(played).sureness for played in plays]
    scores = [score_of_a_student(played) for played in plays]
    found = spearmanr(sureness, scores)
    assert found.statistic < 0
    assert found.pvalue < 0.05, "the surer the ideal examiner, the better the student"
    dealt = [own for _, own in sorted(zip(sureness, scores, strict=True), reverse=True)]
    first, second = dealt[0::4] + dealt[3::4], dealt[1::4] + dealt[2::4]
    assert ttest_ind(first, second, equal_var=False).pvalue > 1 - LEVEL
    by_chance = permutation_test(
        (first, second),
        lambda a, b: abs(np.mean(a) - np.mean(b)),
        alternative="greater",
        rng=np.random.default_rng(1),
    )
    assert by_chance.pvalue > 0.5, "closer than half of all halves drawn at random"
