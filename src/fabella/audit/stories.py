"""From the free words of a published story to a mechanism and to plain answers of the history."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from fabella.audit.holding import clause_of, is_denied, is_loosely_denied, is_supposed, is_told
from fabella.audit.times import is_past, is_the_onset
from fabella.audit.words import load, plain
from fabella.protocol import TellsOf, load_protocol
from fabella.record import Acuity, Answer, Mechanism

_GAP = r"(?:\w+ ){0,3}?"
FORCES = frozenset(
    (Mechanism.DIRECT_BLOW, Mechanism.FALL_ON_KNEE, Mechanism.MINOR_FALL, Mechanism.HIGH_ENERGY)
)
"""Mechanisms that are a fall or a blunt blow by their name."""


@dataclass(frozen=True, slots=True)
class _Rule:
    is_: Mechanism
    needs: str
    says: re.Pattern[str]
    unless: re.Pattern[str]


@dataclass(frozen=True, slots=True)
class _Hint:
    item: str
    answer: Answer
    says: re.Pattern[str]
    unless: re.Pattern[str]
    lasting: bool


@dataclass(frozen=True, slots=True, eq=False)
class Stories:
    """The rules of ``case_stories.toml``."""

    rules: tuple[_Rule, ...]
    denials: re.Pattern[str]
    not_denials: re.Pattern[str]
    soft: re.Pattern[str]
    late: re.Pattern[str]
    injury: re.Pattern[str]
    hints: tuple[_Hint, ...]
    codes: Mapping[str, Mapping[str, str]]
    """What sexes, settings and acuities are called: by kind, a word and its code."""


@cache
def load_stories() -> Stories:
    """Read ``case_stories.toml``; raise `InputError` when a hint is no sign."""
    raw, protocol = load("case_stories.toml"), load_protocol()
    hints: list[tuple[str, Answer, dict[str, Any]]] = [(row["item"], True, row) for row in raw["hint"]]
    hints += [("swelling_onset_hours", float(row["is"]), row) for row in raw["hours"]]
    hints += [("morning_stiffness_min", float(row["is"]), row) for row in raw["minutes"]]
    for item in (*raw["history"], *(item for item, *_ in hints)):
        protocol.sign(item)
    denial = raw["no_injury"]
    return Stories(
        rules=tuple(
            _Rule(
                Mechanism(row["is"]),
                row.get("needs", ""),
                _compiled(row["words"]),
                _compiled(row.get("unless", ())),
            )
            for row in raw["mechanism"]
        ),
        denials=_compiled(denial["words"]),
        not_denials=_compiled(denial["unless"]),
        soft=_compiled(denial["soft"]),
        late=_compiled(denial["late"]),
        injury=_compiled(denial["injury"]),
        hints=tuple(
            _Hint(item, answer, _compiled(row["words"]), _compiled(row.get("unless", ())), _is_lasting(item))
            for item, answer, row in hints
        ),
        codes={
            kind: {plain(word): code for code, words in raw[kind].items() for word in (code, *words)}
            for kind in ("sex", "setting", "acuity", "history")
        },
    )


def _is_lasting(item: str) -> bool:
    """Say whether an answer stays true of the patient, however long ago it became so, or is of that time."""
    sign = load_protocol().sign(item)
    return sign.is_person or sign.tells_of is TellsOf.PAST or item == "pain_before_injury"


def story(words: str) -> str:
    """Return a story in `plain` words with hyphens gone and punctuation set apart."""
    text = re.sub(r"(?<=[a-z0-9])-(?=[a-z0-9])", " ", plain(words)).replace("/", " ")
    text = re.sub(r"(?<!\d)\.|\.(?!\d)|[,;:()!?]", lambda found: f" {found[0]} ", text)
    return " ".join(text.split())


def mechanism_of(
    words: str, acuity: Acuity | None = None, onset_days: float | None = None
) -> Mechanism | None:
    """Return the mechanism that fits the words best, or None when they tell of none.

    A complaint without any word on its beginning began by itself, unless it is acute; then nothing is known.
    What happened long before the complaint began, ``onset_days`` ago, is not how it began.
    """
    rules = load_stories()
    text = _without_late_pain(story(words), rules)
    denied = rules.denials.search(text) and not rules.not_denials.search(text)
    if denied or (rules.soft.search(text) and not is_told(rules.injury, text, onset_days)):
        overuse = any(
            is_told(rule.says, text, onset_days) and not rule.unless.search(text)
            for rule in rules.rules
            if rule.needs == "no_injury"
        )
        return Mechanism.OVERUSE if overuse else Mechanism.INSIDIOUS
    for rule in rules.rules:
        if rule.needs == "no_injury" or (rule.needs == "not_acute" and acuity is Acuity.ACUTE):
            continue
        began = None if rule.is_ is Mechanism.PENETRATING else onset_days  # what was left inside tells late
        if is_told(rule.says, text, began) and not rule.unless.search(text):
            return rule.is_
    return None


def hints_of(words: str, onset_days: float | None = None) -> dict[str, Answer]:
    """Return what the words plainly say of the history; what they deny is False.

    What a clause places in the past ("an old sprain with swelling") is no answer about the present complaint;
    what it places at its beginning, ``onset_days`` ago, is one.
    """
    text = story(words)
    found: dict[str, Answer] = {}
    for hint in load_stories().hints:
        if hint.item in found or hint.unless.search(text):
            continue
        for match in hint.says.finditer(text):
            clause = clause_of(text, match)
            if is_supposed(text, match) or (not hint.lasting and is_past(clause, onset_days)):
                continue
            if hint.item == "previous_injury" and is_the_onset(match[0], onset_days):
                continue  # the injury with which it began is no earlier one
            if not is_denied(text, match):
                found[hint.item] = hint.answer
                break
            if hint.answer is True and not is_loosely_denied(hint.item, text, match):
                found.setdefault(hint.item, False)
    if found.get("swelling_noticed") is not True:  # denied, or a swelling of the calf or the foot
        found.pop("swelling_onset_hours", None)
    return found


def code_of(kind: str, word: str) -> str | None:
    """Return the code of a sex, setting, acuity or history item that is called so, or None."""
    return load_stories().codes[kind].get(plain(word).replace("-", " "))


def _without_late_pain(text: str, rules: Stories) -> str:
    """Return a story that began softly without the one sharp moment that came late."""
    late = rules.late.search(text)
    return text[: late.start()] if late and rules.soft.search(text[: late.start()]) else text


def _compiled(phrases: object) -> re.Pattern[str]:
    return re.compile("|".join(_expressions(phrases)) or r"(?!)")


def _expressions(phrases: object) -> Iterator[str]:
    for phrase in phrases if isinstance(phrases, list | tuple) else ():
        text = re.sub(r"(?<=[a-z])\*", r"\\w*", str(phrase))
        text = re.sub(r"\((?!\?)", "(?:", text)
        text = text.strip().removesuffix(" ~")
        yield rf"(?<!\w)(?:{re.sub(r'(?: ~)+ ', lambda gaps: ' ' + _GAP * gaps[0].count('~'), text)})(?!\w)"
