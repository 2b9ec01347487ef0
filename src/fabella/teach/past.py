"""A debriefed run as one line of a student's own record, for whoever keeps it in a file."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from math import isfinite
from typing import Any

from fabella.anatomy import Side
from fabella.errors import Problems
from fabella.protocol import load_protocol
from fabella.teach.facts import BeliefFact, HabitFact, Reading, RunFacts, SignFact
from fabella.teach.next_time import Lesson, Topic
from fabella.teach.wording import habit_words, lesson_words

FORMAT = "fabella.practice-record/1"
_FIRST_YEAR, _LAST_YEAR = 1900, 2999  # a clock outside of them is set wrong, and days cannot be counted


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """One debriefed run: when it was begun (with its zone), what was chosen, what it taught, its facts."""

    begun: datetime
    curriculum: str
    setting: str
    lesson: Lesson
    facts: RunFacts


def topics_of(runs: Iterable[Past]) -> dict[str, int]:
    """Return how often each topic was the lesson, as `debrief` weighs it."""
    return dict(Counter(each.lesson.topic.value for each in runs))


def past_text(run: Past) -> str:
    """Return a run as one line of JSON."""
    tree = asdict(run) | {"begun": run.begun.isoformat(timespec="seconds")}
    return json.dumps({"format": FORMAT, **tree}, separators=(",", ":"))


def read_past(text: str) -> tuple[Past, ...]:
    """Return the runs of a record, in the order of its lines; `InputError` names every line that is none."""
    runs, problems = [], Problems()
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            runs.append(_past(json.loads(line)))
        except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
            problems.add(f"line {number}", line[:40], f"is no run of a {FORMAT}", "mend it, or take it out")
    problems.raise_any()
    return tuple(runs)


def _past(tree: Mapping[str, Any]) -> Past:
    if tree["format"] != FORMAT:
        raise ValueError(tree["format"])
    begun, facts = datetime.fromisoformat(tree["begun"]), tree["facts"]
    if begun.tzinfo is None or not _FIRST_YEAR <= begun.year <= _LAST_YEAR:
        raise ValueError(begun)
    lesson = Lesson(topic=Topic(tree["lesson"]["topic"]), about=str(tree["lesson"]["about"]))
    lesson_words(lesson, protocol=load_protocol())  # raises for what cannot be said
    for each in facts["habits"]:
        habit_words(str(each["habit"]), kept=True)
    return Past(
        begun=begun,
        curriculum=str(tree["curriculum"]),
        setting=str(tree["setting"]),
        lesson=lesson,
        facts=RunFacts(
            minutes=_number(facts["minutes"]),
            told=bool(facts["told"]),
            seconds=_finite(facts["seconds"]),
            signs=tuple(_sign(each) for each in facts["signs"]),
            habits=tuple(
                HabitFact(habit=str(each["habit"]), kept=each["kept"] is True, share=_number(each["share"]))
                for each in facts["habits"]
            ),
            beliefs=tuple(
                BeliefFact(
                    lesion=str(each["lesion"]),
                    believed=_number(each["believed"]),
                    present=each["present"] is True,
                )
                for each in facts["beliefs"]
            ),
        ),
    )


def _sign(tree: Mapping[str, Any]) -> SignFact:
    return SignFact(
        sign=str(tree["sign"]),
        side=None if tree["side"] is None else Side(tree["side"]),
        reading=Reading(tree["reading"]),
        abnormal=None if tree["abnormal"] is None else bool(tree["abnormal"]),
        at_s=_number(tree["at_s"]),
        seconds=_finite(tree["seconds"]),
    )


def _number(value: Any) -> float | None:
    return None if value is None else _finite(value)


def _finite(value: Any) -> float:
    number = float(value)
    if not isfinite(number):
        raise ValueError(value)
    return number
