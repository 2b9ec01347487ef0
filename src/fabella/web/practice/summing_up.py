"""A debrief in words and drawn lines, computed away from the server's threads."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.protocol import load_protocol
from fabella.teach import Event, Lesson, Recipe, RunFacts, Terms, debrief, facts_of
from fabella.teach.debrief_words import (
    StepWords,
    believed_steps,
    conduct_lines,
    hurt_lines,
    ideal_steps,
    knee_words,
    left_out_lines,
    missed_lines,
    unchecked_lines,
    worth_lines,
)
from fabella.teach.upshot import upshot_lines
from fabella.teach.wording import CAUTION, clock_words, lesson_words, rarity_words
from fabella.web.practice.chart import Panel, panels_of
from fabella.web.practice.playing import played
from fabella.web.practice.replaying import Replayed, Truth, replayed, truth_of

_WHO = {"student": "You", "findings": "The model on your findings", "ideal": "The ideal examiner"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a debrief is made from; the same is made once."""

    recipe: Recipe
    terms: Terms
    events: tuple[Event, ...]
    earlier: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How good a differential was; 0 is best."""

    who: str
    brier: float
    log_bits: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Summed:
    """A debrief as it is read, in the order of its page."""

    present: tuple[tuple[str, str], ...]
    rarest: str
    truth: Truth
    in_words: bool
    lesson: Lesson
    lesson_words: str
    time: str
    kept: tuple[str, ...]
    not_kept: tuple[str, ...]
    hurts: tuple[str, ...]
    missed: tuple[str, ...]
    unchecked: tuple[str, ...]
    false_alarms: tuple[str, ...]
    left_out: tuple[str, ...]
    misread: tuple[Replayed, ...]
    worth: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    panels: tuple[Panel, ...]
    steps: tuple[StepWords, ...]
    ideal: tuple[StepWords, ...]
    ideal_time: str
    upshot: tuple[str, ...]
    scores: tuple[Score, ...]
    edition: str
    caution: str
    failures: tuple[str, ...]
    facts: RunFacts


def sum_up(asked: Asked) -> Summed:
    """Return the debrief of a run in words."""
    encounter = played(asked.recipe, asked.terms, asked.events)
    found = debrief(encounter, earlier=dict(asked.earlier))
    protocol = load_protocol()
    return Summed(
        present=tuple((f"{side.value.title()} knee", knee_words(found, side)) for side in Side),
        rarest="" if found.rarest is None else rarity_words(found.rarest),
        truth=truth_of(encounter),
        in_words=encounter.run.in_words,
        lesson=found.lesson,
        lesson_words=lesson_words(found.lesson, protocol=protocol),
        time=clock_words(found.seconds),
        kept=tuple(conduct_lines(found, kept=True)),
        not_kept=tuple(conduct_lines(found, kept=False)),
        hurts=tuple(hurt_lines(found)),
        missed=tuple(missed_lines(found, true=True)),
        unchecked=tuple(unchecked_lines(found)),
        false_alarms=tuple(missed_lines(found, true=False)),
        left_out=tuple(left_out_lines(found)),
        misread=replayed(encounter, found.misread),
        worth=tuple(worth_lines(found)),
        panels=panels_of(found),
        steps=tuple(believed_steps(found)),
        ideal=tuple(ideal_steps(found)),
        ideal_time=clock_words(found.ideal_seconds),
        upshot=tuple(upshot_lines(found)),
        scores=tuple(
            Score(who=_WHO[who], brier=each.brier, log_bits=each.log) for who, each in found.scores.items()
        ),
        edition=found.workup.edition,
        caution=CAUTION,
        failures=tuple(found.workup.failures),
        facts=facts_of(encounter, found),
    )
