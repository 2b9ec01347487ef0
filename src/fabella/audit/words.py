"""The words of published cases: names as bags of words, phrases as patterns; no medicine."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import Any

Bag = tuple[str, ...]
"""The words of a name in alphabetical order, each in its one spelling."""

_SAME_WORD = 0.8  # judgement: one slip in a word of five letters
_SURELY_SAME_WORD = 0.9
_SHORTEST = 5  # shorter words are too easily taken for one another
_HYPHENS = re.compile("[\u2010-\u2015\u2212]")
_SPELLING = (
    (re.compile(r"\bhem(?=arthr|ato|orr|oph|ang)"), "haem"),
    (re.compile(r"(?<!o)edema"), "oedema"),
    (re.compile(r"\bparesthes"), "paraesthes"),
    (re.compile(r"\bpain[- ]?free\b"), "painless"),
    (re.compile(r"\bknee[- ]?caps?\b"), "patella"),
    (re.compile(r"\bwithin (?:(?:the )?(?:normal|physiological|usual) )?limits\b(?! of)"), "normal"),
    (re.compile(r"\b(\d[+-]?) (?:out )?of (\d+)\b"), r"\1/\2"),  # four of five, as 4/5
)
_UP_TO_THREE = r"(?:\w+ ){0,3}?"


def load(name: str) -> dict[str, Any]:
    """Return one of the data files of this room."""
    return tomllib.loads(files("fabella.audit").joinpath(name).read_text("utf-8"))


def plain(text: str) -> str:
    """Return a text in lower case, in one spelling, with single spaces and plain hyphens."""
    text = _HYPHENS.sub("-", text.casefold()).replace("\u00b0", " deg ").replace("\u00ba", " deg ")
    text = text.replace("\u2019", "'").replace("'s", "").replace("_", " ")
    for pattern, spelling in _SPELLING:
        text = pattern.sub(spelling, text)
    return " ".join(text.split())


@dataclass(frozen=True, slots=True, eq=False)
class Vocabulary:
    """Which words are left out of names, and which mean the same.

    ``said`` are words in a name that are a value by themselves, ``seen`` those that only say that something
    was found.
    """

    fillers: frozenset[str]
    said: frozenset[str]
    seen: frozenset[str]
    same: Mapping[str, str]
    phrases: tuple[tuple[re.Pattern[str], str], ...]
    sides: Mapping[str, tuple[str, ...]]

    def bag(self, name: str) -> Bag:
        """Return the words of a name that tell it from others, without side, order, plural and spelling."""
        return tuple(sorted(self.spelt(name)))

    def spelt(self, name: str) -> tuple[str, ...]:
        """Return the same words in their order."""
        text = re.sub(r"[^a-z0-9.+]+", " ", plain(name))
        for pattern, meaning in self.phrases:
            text = pattern.sub(meaning, text)
        words = [self.same.get(word, word) for word in map(_singular, text.split())]
        kept = [word for word in words if word not in self.fillers]
        return tuple(dict.fromkeys(kept or words))

    def side_of(self, word: str) -> str | None:
        """Return right, left, both, contralateral, ipsilateral or unspecified, or None for any other word."""
        said = plain(word).replace("/", " ").strip(" .")
        return next((side for side, words in self.sides.items() if said in words or said == side), None)


@cache
def vocabulary() -> Vocabulary:
    """Read ``case_words.toml``."""
    raw = load("case_words.toml")
    same = {_singular(word): kept for kept, words in raw["same"].items() for word in words}
    sides = ("right", "left", "both", "contralateral", "ipsilateral", "unspecified")
    return Vocabulary(
        fillers=frozenset(raw["fillers"]),
        said=frozenset(same.get(word, word) for word in raw["said_in_names"]),
        seen=frozenset(same.get(word, word) for word in raw["seen_in_names"]),
        same=same,
        phrases=tuple(
            (re.compile(rf"\b{re.escape(said)}\b"), meant) for said, meant in raw["phrases"].items()
        ),
        sides={side: tuple(raw[side]) for side in sides},
    )


def corrected(words: Iterable[str], known: frozenset[str]) -> Bag:
    """Return a bag in which each unknown word is replaced by the one known word that it misspells, if any.

    A known word is never taken for another, nor is a number or a short word.
    """
    same = vocabulary().same
    nearest = (_nearest(word, known) for word in words)
    return tuple(sorted({same.get(word, word) for word in nearest}))


def pattern(phrases: Iterable[str]) -> re.Pattern[str]:
    """Return what finds any of the phrases in a `plain` text.

    In a phrase ``*`` ends a word freely, ``~`` is up to three words, and ``(a|b)`` an alternative.
    """
    return re.compile("|".join(rf"(?<![\w+/]){_as_regex(each)}(?![\w+/])" for each in phrases) or r"(?!)")


def _as_regex(phrase: str) -> str:
    text = re.sub(r"[.+?/\-\[\]{}^$]", lambda found: re.escape(found[0]), phrase)
    text = text.removesuffix(" ~").replace("*", r"\w*").replace("(", "(?:")
    return re.sub(
        r" ?~ ?", lambda found: " " + _UP_TO_THREE if found[0].startswith(" ") else _UP_TO_THREE, text
    )


def _nearest(word: str, known: frozenset[str]) -> str:
    """Return the known word that a word misspells: the only near one, or one that is very near."""
    if word in known or len(word) < _SHORTEST or not word.isalpha():
        return word
    same = vocabulary().same
    for cutoff, among in ((_SURELY_SAME_WORD, 1), (_SAME_WORD, 3)):
        near = {same.get(each, each) for each in get_close_matches(word, known, n=among, cutoff=cutoff)}
        if len(near) == 1:
            return near.pop()
    return word


def _singular(word: str) -> str:
    ends = len(word) > len("pes") and word.endswith("s") and not word.endswith(("ss", "us", "is"))
    return word[:-1] if ends else word
