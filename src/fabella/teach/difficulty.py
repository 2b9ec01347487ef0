"""How hard a practice patient is: how surely the ideal examiner would conclude within the time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from fabella.teach.hidden import Hidden
from fabella.teach.players import Played, play_ideal
from fabella.teach.reasoning import Reasoner
from fabella.teach.run import Terms

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Difficulty:
    """``sureness`` (0..1) is the mean probability that the ideal examiner gives to the lesions present.

    Of a knee without any it is the probability of nothing listed. ``seconds`` is how long the examiner took.
    """

    sureness: float
    seconds: float

    @property
    def word(self) -> str:
        """Return ``easy`` from 0.75, ``fair`` from 0.4, else ``hard`` (judgement)."""
        return next(
            (word for least, word in ((0.75, "easy"), (0.4, "fair")) if self.sureness >= least), "hard"
        )


def difficulty_of(played: Played) -> Difficulty:
    """Return the difficulty that a finished ideal run shows."""
    lesions = tuple(dict.fromkeys(lesion for lesion, _ in played.encounter.hidden.complaint.lesions))
    chances = [played.thought.chances[lesion] for lesion in lesions] or [played.thought.nothing]
    return Difficulty(sureness=sum(chances) / len(chances), seconds=played.encounter.run.clock_s)


def measure_difficulty(hidden: Hidden, terms: Terms, reasoner: Reasoner) -> Difficulty:
    """Return the difficulty of a patient: the ideal examiner plays it once, in about a second."""
    return difficulty_of(play_ideal(hidden, terms, reasoner))


def even_sets(patients: Sequence[tuple[T, float]], sets: int) -> tuple[tuple[T, ...], ...]:
    """Deal patients out into sets of equal difficulty.

    Parameters
    ----------
    patients
        Each with its sureness, in any order.
    sets
        How many, at least 1; each gets as many patients as the others, and what is left over goes to none.

    Notes
    -----
    They are sorted by sureness and dealt to and fro, so that no set gets the easier of every pair. Where that
    leaves one hand over, it is the one whose patients differ least, and the hardest set gets its easiest.
    """
    ordered = sorted(patients, key=lambda each: -each[1])
    hands = [ordered[at : at + sets] for at in range(0, len(ordered) - sets + 1, sets)]
    left_over = []
    if len(hands) % 2:
        left_over = hands.pop(min(range(len(hands)), key=lambda each: hands[each][0][1] - hands[each][-1][1]))
    dealt: list[list[tuple[T, float]]] = [[] for _ in range(sets)]
    for number, hand in enumerate(hands):
        for place, each in enumerate(hand if number % 2 == 0 else reversed(hand)):
            dealt[place].append(each)
    hardest_first = sorted(range(sets), key=lambda place: sum(sure for _, sure in dealt[place]))
    for place, each in zip(hardest_first, left_over, strict=False):
        dealt[place].append(each)
    return tuple(tuple(patient for patient, _ in each) for each in dealt)
