"""What a student's runs show together: beliefs against the truth, signs, time, order, and what is due."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import takewhile
from math import sqrt

from fabella.stats import Bin, BrierParts, brier_parts, calibration
from fabella.teach.facts import BeliefFact, RunFacts
from fabella.teach.recognition import Recognition, recognition_of
from fabella.teach.repetition import Scheduled, schedule

ENOUGH_BELIEFS = 20
"""Beliefs from which a curve and the parts of a score are told (judgement)."""

HELD = 0.5
"""Probability from which a lesion counts as told to be there (judgement)."""

ORDER = ("both_knees", "sound_side_first", "look_feel_move")
"""The habits of order that are counted in shares."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lean:
    """How much surer than right beliefs are on average (-1..1), and the standard error if they are right."""

    off: float
    error: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """Everything that was said to be believed, against what was there.

    ``parts`` is None below `ENOUGH_BELIEFS`; ``unnamed`` counts the lesions that were there and not named;
    ``latest`` is how the last `ENOUGH_BELIEFS` lean, once there are twice as many.
    """

    n: int
    bins: tuple[Bin, ...]
    parts: BrierParts | None
    unnamed: int
    latest: Lean | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """In how many of the runs in which it came up a habit was kept; ``latest`` of them the last in a row."""

    habit: str
    kept: int
    n: int
    latest: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """How one lesion of the knee complained of was judged over the runs.

    ``there`` counts the runs whose patient had it, ``named`` those of them that named it, ``held`` those that
    gave it `HELD` or more; ``overcalled`` the runs that gave it so much though it was not there.
    """

    lesion: str
    there: int
    named: int
    held: int
    overcalled: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One run on the way: the minutes it took, the signs done, and the shares of order (0..1)."""

    begun: datetime
    minutes: float
    signs: int
    order: tuple[float | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """A student's record over their runs, the points in the order of the runs."""

    belief: Belief
    signs: tuple[Recognition, ...]
    lesions: tuple[Judged, ...]
    habits: tuple[Habit, ...]
    points: tuple[Point, ...]
    scheduled: tuple[Scheduled, ...]


def learned_from(runs: Sequence[tuple[datetime, RunFacts]], *, now: datetime) -> Learned:
    """Return what runs show together; each comes with the time when it was begun."""
    ordered = sorted(runs, key=lambda each: each[0])
    facts = [each for _, each in ordered]
    return Learned(
        belief=belief_of(facts),
        signs=recognition_of(facts),
        lesions=judged_of(facts),
        habits=habits_of(facts),
        points=tuple(_point(begun, each) for begun, each in ordered),
        scheduled=schedule(ordered, now=now),
    )


def belief_of(runs: Sequence[RunFacts]) -> Belief:
    """Return how well what was believed agrees with what was there."""
    beliefs = [fact for run in runs for fact in run.beliefs]
    said = [(fact.believed, fact.present) for fact in beliefs if fact.believed is not None]
    chances, true = [p for p, _ in said], [present for _, present in said]
    return Belief(
        n=len(said),
        bins=calibration(chances, true),
        parts=brier_parts(chances, true) if len(said) >= ENOUGH_BELIEFS else None,
        unnamed=sum(fact.believed is None for fact in beliefs),
        latest=_lean(said[-ENOUGH_BELIEFS:]) if len(said) >= 2 * ENOUGH_BELIEFS else None,
    )


def _lean(said: Sequence[tuple[float, bool]]) -> Lean:
    return Lean(
        off=sum(p - present for p, present in said) / len(said),
        error=sqrt(sum(p * (1 - p) for p, _ in said)) / len(said),
    )


def judged_of(runs: Sequence[RunFacts]) -> tuple[Judged, ...]:
    """Return every lesion that was there or named, those missed oftenest first, then those seen wrongly."""
    facts: dict[str, list[BeliefFact]] = {}
    for run in runs:
        for fact in run.beliefs:
            facts.setdefault(fact.lesion, []).append(fact)
    found = [_judged(lesion, each) for lesion, each in facts.items()]
    return tuple(
        sorted(found, key=lambda each: (each.held - each.there, -each.overcalled, -each.there, each.lesion))
    )


def _judged(lesion: str, facts: Sequence[BeliefFact]) -> Judged:
    given = [(fact.believed or 0.0, fact.present) for fact in facts]
    return Judged(
        lesion=lesion,
        there=sum(present for _, present in given),
        named=sum(fact.present and fact.believed is not None for fact in facts),
        held=sum(present and p >= HELD for p, present in given),
        overcalled=sum(not present and p >= HELD for p, present in given),
    )


def habits_of(runs: Sequence[RunFacts]) -> tuple[Habit, ...]:
    """Return every habit that came up, in the order of an examination."""
    found: dict[str, list[bool]] = {}
    for run in runs:
        for fact in run.habits:
            found.setdefault(fact.habit, []).append(fact.kept)
    return tuple(
        Habit(
            habit=habit,
            kept=sum(kept),
            n=len(kept),
            latest=sum(1 for _ in takewhile(bool, reversed(kept))),
        )
        for habit, kept in found.items()
    )


def _point(begun: datetime, facts: RunFacts) -> Point:
    shares = {fact.habit: fact.share for fact in facts.habits}
    return Point(
        begun=begun,
        minutes=facts.seconds / 60,
        signs=len({fact.sign for fact in facts.signs if fact.seconds}),
        order=tuple(shares.get(habit) for habit in ORDER),
    )
