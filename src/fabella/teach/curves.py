"""How far two students made of rules come, minute by minute, over many patients."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from fabella.infer.states import Slot
from fabella.teach.dice import Dice
from fabella.teach.hidden import Hidden
from fabella.teach.known import known_by
from fabella.teach.players import Played, play_ideal, play_random
from fabella.teach.reasoning import Reasoner, Thought
from fabella.teach.run import Terms
from fabella.teach.scores import score

WHO = ("ideal", "random")
BELIEVED = 0.5
"""Probability from which a lesion counts as concluded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """How far one student was with one patient at one minute.

    ``right``: the likeliest lesion is there (of a knee without any: nothing is believed); ``given`` the mean
    probability of the lesions that are there; ``log`` the log score in bits; ``concluded`` the lesions
    believed, and ``present`` those that are there.
    """

    who: str
    seed: int
    minute: int
    right: bool
    given: float
    log: float
    concluded: frozenset[str]
    present: frozenset[str]


def curve_points(patients: Iterable[Hidden], *, minutes: int, reasoner: Reasoner) -> Iterator[Point]:
    """Yield the points of both students with every patient, from minute 0 to ``minutes``."""
    terms = Terms(minutes=minutes)
    for hidden in patients:
        seed = hidden.recipe.seed
        ideal = play_ideal(hidden, terms, reasoner)
        chance = play_random(hidden, terms, reasoner, dice=Dice(seed))
        for minute in range(minutes + 1):
            for who, thought in zip(
                WHO, (_ideal_at(ideal, minute, reasoner), _thought_at(chance, minute, reasoner)), strict=True
            ):
                yield _point(who, seed, minute, thought, hidden.complaint.lesions)


def _ideal_at(played: Played, minute: int, reasoner: Reasoner) -> Thought:
    done = [step.thought for step in played.steps if step.at_s + step.seconds <= minute * 60]
    return done[-1] if done else _thought_at(played, minute, reasoner)


def _thought_at(played: Played, minute: int, reasoner: Reasoner) -> Thought:
    turns = tuple(turn for turn in played.encounter.run.turns if turn.seen.clock_s <= minute * 60)
    return reasoner.think(known_by(played.encounter, turns))


def _point(who: str, seed: int, minute: int, thought: Thought, lesions: tuple[Slot, ...]) -> Point:
    present = frozenset(lesion for lesion, _ in lesions)
    likeliest = max(thought.chances, key=lambda lesion: thought.chances[lesion])
    concluded = frozenset(lesion for lesion, p in thought.chances.items() if p >= BELIEVED)
    given = [thought.chances[lesion] for lesion in present] or [thought.nothing]
    return Point(
        who=who,
        seed=seed,
        minute=minute,
        right=likeliest in present if present else not concluded,
        given=sum(given) / len(given),
        log=score(thought.chances, present=present, lesions=thought.chances).log,
        concluded=concluded,
        present=present,
    )


def accuracy(points: Sequence[Point], lesion: str) -> tuple[float | None, float | None]:
    """Return the shares of patients with and without a lesion who were rightly told so (0..1)."""
    there = [lesion in each.concluded for each in points if lesion in each.present]
    absent = [lesion not in each.concluded for each in points if lesion not in each.present]
    return (
        sum(there) / len(there) if there else None,
        sum(absent) / len(absent) if absent else None,
    )
