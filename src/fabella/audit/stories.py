"""From the free words of a published story to a mechanism and to plain answers of the history."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from fabella.audit.times import SAME_TIME, STILL, days_ago, is_past
from fabella.audit.words import load, plain
from fabella.protocol import load_protocol
from fabella.record import Acuity, Answer, Mechanism

_GAP = r"(?:\w+ ){0,3}?"
_NEGATOR = r"(?:no|not|without|denie[sd]|denying|never|nor|neither|non|rather than|absence of|free of)"
_NEW_SUBJECT = r"and (?:the|his|her|it|he|she)\b"
_DENIED_HERE = re.compile(rf"\b{_NEGATOR}(?: (?!but\b|with\b|except\b|until\b|{_NEW_SUBJECT})\w+){{0,6}} ?$")
_LIST_BEFORE = re.compile(rf"\b{_NEGATOR} [\w ]{{1,40}}(?: , [\w ]{{1,30}})* , $")
_LIST_AFTER = re.compile(r"[\w ]*(?: , [\w ]+)*?(?: ,)? (?:or|nor) ")
_LIST_END = re.compile(
    rf"\b{_NEGATOR} [\w ]{{1,40}}(?: , [\w ]{{1,30}})*(?: ,)? (?:or|nor) (?:any )?(?:\w+ ){{0,2}}$"
)
_PREDICATE = re.compile(r"(?:pain|ache|aching|worse|hurts|swell\w*)\b")  # it begins a new statement
_CLAUSE = re.compile(r"[.;:()]")
_OLD = re.compile(r"\b(?:old|previous|prior|earlier|past|remote|former)(?: \w+){0,4} $")
_YEARS_AGO = re.compile(r"\byears? (?:ago|before|earlier|previously)\b")
_LONG_AGO = re.compile(
    r"^[^,;.]*?\bin (?:the past|childhood|(?:his|her) youth)\b"
    r"|^(?: \w+){0,4} as a (?:child|boy|girl|teenager)\b"
)
_HARMLESS = re.compile(
    r"\b(?:without (?:any )?(?:harm|consequences?)|no harm|got well|healed|recovered|became right)\b"
)
_FIRST_OF_MANY = re.compile(r"\bfirst (?:\w+ )?(?:after|with|in|from|following)\b[^,]*$")
_NEWER = re.compile(
    r"\b(?:for|in|over|now|lately|recent\w*|again|another|past|last|of|spells?|episodes?|bouts?)\b"
)
_MOVING = (
    r"(?:(?:only|mainly|mostly|most|especially|on|in|with|when|while|during|by|and|or|deep|full|long|stairs"
    r"|\w+ing) )*$"
)
_WORSENS = re.compile(
    r"\b(?:worse|worst|aggravated|eased|better|felt|hurts|aches|locks|catches|clicks|snaps|swells|gives way) "
    rf"(?:(?:over|for|since) (?:\w+ ){{1,3}}?)?{_MOVING}"
    rf"|\b(?:spells|bouts|episodes|attacks) (?:\w+ ){{1,7}}?(?:with|on|in|during) {_MOVING}"
)
"""What stands before a movement that makes a complaint worse, and was not its beginning."""
_CANNOT = re.compile(
    r"\b(?:cannot|can not|unable to|not able to|could not|difficulty|difficult to|hard to|trouble) "
    r"(?:(?!after|since|when|following|because)\w+ ){0,3}$"
)
"""What stands before something that the patient can no longer do."""
FORCES = frozenset(
    (Mechanism.DIRECT_BLOW, Mechanism.FALL_ON_KNEE, Mechanism.MINOR_FALL, Mechanism.HIGH_ENERGY)
)
"""Mechanisms that are a fall or a blunt blow by their name."""
UNFORCED = frozenset((Mechanism.INSIDIOUS, Mechanism.OVERUSE))
"""Mechanisms without an injury."""


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
    """Say whether an answer stays true of the patient, however long ago it became so."""
    return load_protocol().sign(item).is_person or item.startswith("previous") or item == "knee_prosthesis"


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
    if denied or (rules.soft.search(text) and not _told(rules.injury, text, onset_days)):
        overuse = any(
            _told(rule.says, text, onset_days) and not rule.unless.search(text)
            for rule in rules.rules
            if rule.needs == "no_injury"
        )
        return Mechanism.OVERUSE if overuse else Mechanism.INSIDIOUS
    for rule in rules.rules:
        if rule.needs == "no_injury" or (rule.needs == "not_acute" and acuity is Acuity.ACUTE):
            continue
        began = None if rule.is_ is Mechanism.PENETRATING else onset_days  # what was left inside tells late
        if _told(rule.says, text, began) and not rule.unless.search(text):
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
            clause = _clause(text, match)
            if not hint.lasting and is_past(clause, onset_days):
                continue
            if not _denied(text, match):
                found[hint.item] = hint.answer
                break
            if hint.answer is True and not _loosely_denied(hint.item, text, match):
                found.setdefault(hint.item, False)
    if found.get("swelling_noticed") is False:
        found.pop("swelling_onset_hours", None)
    return found


def code_of(kind: str, word: str) -> str | None:
    """Return the code of a sex, setting, acuity or history item that is called so, or None."""
    return load_stories().codes[kind].get(plain(word).replace("-", " "))


def _without_late_pain(text: str, rules: Stories) -> str:
    """Return a story that began softly without the one sharp moment that came late."""
    late = rules.late.search(text)
    return text[: late.start()] if late and rules.soft.search(text[: late.start()]) else text


def _told(says: re.Pattern[str], text: str, onset_days: float | None) -> bool:
    return any(
        not (
            _denied(text, match)
            or _is_old(text, match, onset_days)
            or _WORSENS.search(text[: match.start()])
            or _CANNOT.search(text[: match.start()])
        )
        for match in says.finditer(text)
    )


def _is_old(text: str, match: re.Match[str], onset_days: float | None) -> bool:
    """Say whether a match is an old event beside which the story tells of a newer complaint."""
    if _OLD.search(text[: match.start()]) or _LONG_AGO.search(text[match.end() :]):
        return True
    clause = _clause(text, match)
    newer = text.replace(clause, " ")
    if STILL.search(text):
        return False
    if _HARMLESS.search(clause) and re.search(r"\w", newer):
        return True
    if onset_days and (happened := days_ago(clause)):
        return happened > onset_days * SAME_TIME
    before = _CLAUSE.split(text[: match.start()])[-1]
    past = _YEARS_AGO.search(clause) or _FIRST_OF_MANY.search(before)
    return bool(past and _NEWER.search(newer))


def _denied(text: str, match: re.Match[str]) -> bool:
    """Say whether the clause of a match, or the list it stands in, denies it."""
    before = _CLAUSE.split(text[: match.start()])[-1]
    after = _CLAUSE.split(text[match.end() :])[0]
    near = re.split(r",| but | then ", before)[-1]
    if _DENIED_HERE.search(near):
        return True
    listed = _LIST_AFTER.match(after) or (_LIST_AFTER.match(match[0]) and not _PREDICATE.match(match[0]))
    within = _LIST_BEFORE.search(before) and listed
    return bool(within or _LIST_END.search(before))


def _loosely_denied(item: str, text: str, match: re.Match[str]) -> bool:
    """Say whether what is denied is less than the item asks: "no injury, earlier sprain"."""
    if not item.startswith("previous"):
        return False
    less = item == "previous_injury" and re.search(r"injur|trauma", match[0]) is None
    return less or re.search(rf"\b{_NEGATOR} (?:any )?$", text[: match.start()]) is None


def _clause(text: str, match: re.Match[str]) -> str:
    before = _CLAUSE.split(text[: match.start()])[-1]
    return before + match[0] + _CLAUSE.split(text[match.end() :])[0]


def _compiled(phrases: object) -> re.Pattern[str]:
    return re.compile("|".join(_expressions(phrases)) or r"(?!)")


def _expressions(phrases: object) -> Iterator[str]:
    for phrase in phrases if isinstance(phrases, list | tuple) else ():
        text = re.sub(r"(?<=[a-z])\*", r"\\w*", str(phrase))
        text = re.sub(r"\((?!\?)", "(?:", text)
        text = text.strip().removesuffix(" ~")
        yield rf"(?<!\w)(?:{re.sub(r'(?: ~)+ ', lambda gaps: ' ' + _GAP * gaps[0].count('~'), text)})(?!\w)"
