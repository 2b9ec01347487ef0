"""What troubled the knee already before it was hurt: "had been aching for weeks before he fell"."""

from __future__ import annotations

import re
from collections.abc import Sequence

from fabella.dictation.elided import named_by
from fabella.dictation.items import Item
from fabella.dictation.vocabulary import Lexicon, Tag
from fabella.dictation.words import Word

_YES, _NO = ("pain", "before", "injury"), ("painless", "before", "injury")
"""The names in ``history.toml`` under which it is told and denied."""
_TROUBLE = (
    r"(?:pain|pains|painful|ach(?:e|es|ed|ing)|sore|hurt(?:s|ing)?|swell(?:ing|ed)|swollen|tender|discomfort"
    r"|niggl(?:e|es|ing)|trouble|problems?|symptoms?|symptomatic)"
)
_WELL = (
    r"(?:(?:pain|symptom|trouble) - free|(?:pain|symptom|trouble) free|asymptomatic|painless"
    r"|(?:perfectly |completely |quite )?(?:fine|all right|healthy|sound|normal)"
    r"|(?:been|felt|perfectly|completely) well)"
)
"""Without "well" alone: what began "well before the accident" tells of no health."""
_NEVER = r"(?:never|not|did not|has not|had not|was not|no|without)"
_WHILE = (
    r"(?:(?: on and off| already)?(?: for| over| in| during)?(?: about| around| some| the| last| past)*"
    r"(?: \w+)? (?:days?|weeks?|months?|years?|time|while)| already)?"
)
_EVENT = (
    r"(?:(?:the|this|that|his|her|a|any) )?(?:(?!then)\w+ )?(?:injury|fall|accident|twist|incident|blow|knock"
    r"|collision|tackle)\b"
)
_HURT = (
    r"(?:he|she|they) (?:fell|twisted|injured|hurt|slipped|tripped|landed|stumbled"
    r"|was (?:hit|kicked|tackled|injured))\b|(?:falling|slipping|tripping|being (?:hit|kicked|tackled))\b"
)
_BEFORE = rf"(?:before|prior to|preceding|until)(?: {_EVENT}|(?= (?:{_HURT})))"
_SINCE_THEN = rf"(?:before|prior to|until) (?:{_EVENT}|(?:that|then)(?= [.,;])|(?=(?:{_HURT})))"
_THEN = rf"(?= (?:, )?(?:and )?(?:then|until|when) (?:{_EVENT}|{_HURT}))"
_BOTH = rf"{_TROUBLE}(?: (?:or|and) {_TROUBLE})?"
_PATTERNS = (
    (re.compile(rf"\b(?:{_WELL}|{_NEVER} (?:\w+ )?{_BOTH}) {_SINCE_THEN}"), _NO),
    (re.compile(rf"\b{_BOTH}{_WHILE} {_BEFORE}"), _YES),
    (re.compile(rf"\b{_TROUBLE} for(?: about| some| the last)?(?: \w+)? (?:weeks?|months?){_THEN}"), _YES),
)


def told_beforehand(items: Sequence[Item], words: Sequence[Word], lexicon: Lexicon) -> tuple[Item, ...]:
    """Return the items in which a trouble told of the time before an injury is that answer, not one of now.

    The time for which it lasted is then no time since the injury; what happened keeps its own words.
    """
    kept = list(items)
    for first, last, names in _found(words):
        meaning = named_by(lexicon, names)
        if meaning is None:
            continue
        told = Item(
            tag=Tag.SIGN,
            value=meaning.value,
            first=first,
            last=last,
            text=" ".join(word.text for word in words[first:last]),
        )
        kept = [each for each in kept if each.last <= first or each.first >= last]
        at = next((place for place, each in enumerate(kept) if each.first >= last), len(kept))
        kept.insert(at, told)
    return tuple(kept)


def _found(words: Sequence[Word]) -> list[tuple[int, int, tuple[str, ...]]]:
    """Return where it is told, from word to word, and under which name; no words twice."""
    text, begins = "", {}
    for place, word in enumerate(words):
        begins[len(text)] = place
        text += f"{word.text} "
    found: list[tuple[int, int, tuple[str, ...]]] = []
    for pattern, names in _PATTERNS:
        for match in pattern.finditer(text):
            first = begins.get(match.start())
            last = begins.get(match.end() + 1, len(words))
            if first is not None and all(last <= a or first >= b for a, b, _ in found):
                found.append((first, last, names))
    return found
