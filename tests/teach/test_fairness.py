import numpy as np
from numpy.typing import NDArray
from scipy.stats import spearmanr, ttest_ind

from fabella.anatomy import load_lesions
from fabella.teach import Terms, play_ideal
from fabella.teach.difficulty import difficulty_of
from fabella.teach.players import Played
from fabella.teach.scores import score
from tests.teach.patients import patient, reasoner

PATIENTS, OF_A_SET, SETS = 32, 16, 2000
STATION, STUDENT_S = Terms(minutes=4), 180
LEVEL = 0.99


def score_of_a_student(played: Played) -> float:
    """The log score in bits of an informed student who has a minute less than the station."""
    done = [step.thought for step in played.steps if step.at_s + step.seconds <= STUDENT_S]
    thought = done[-1] if done else played.thought
    present = [lesion for lesion, _ in played.encounter.hidden.complaint.lesions]
    return score(thought.chances, present=present, lesions=load_lesions()).log


def halves(scores: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Deal scores out as patients are, first and fourth of every four against second and third."""
    first = np.isin(np.arange(len(scores)) % 4, (0, 3))
    return scores[first], scores[~first]


def apart(scores: NDArray[np.float64]) -> float:
    """Return how far the mean scores of the two halves lie apart."""
    first, second = halves(scores)
    return float(abs(first.mean() - second.mean()))


def test_two_halves_of_equal_difficulty_are_as_fair_to_an_informed_student() -> None:
    """Who always does what tells most scores alike on halves dealt from the easiest to the hardest.

    Difficulty is how surely the ideal examiner concludes within the time; the score is of a student who does
    the same in a minute less, so that the two are not one measurement. Mean scores are held against Welch's
    interval, and over many sets of these patients the halves lie closer than halves drawn at random, by a
    tenth at least: otherwise the difficulty would be worth nothing.
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
    order = np.argsort(sureness)[::-1]
    scored = np.array(scores)
    assert ttest_ind(*halves(scored[order]), equal_var=False).pvalue > 1 - LEVEL
    rng = np.random.default_rng(1)
    dealt = drawn = 0.0
    for _ in range(SETS):
        some = rng.permutation(PATIENTS)[:OF_A_SET]
        drawn += apart(scored[some])
        dealt += apart(scored[order[np.isin(order, some)]])
    assert dealt < 0.9 * drawn
