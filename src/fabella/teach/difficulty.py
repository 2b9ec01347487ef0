"""How hard a practice patient is: how surely the ideal examiner would conclude within the time."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.teach.hidden import Hidden
from fabella.teach.players import Played, play_ideal
from fabella.teach.reasoning import Reasoner
from fabella.teach.run import Terms


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
