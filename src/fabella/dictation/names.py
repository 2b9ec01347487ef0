"""The names of people, which tell nothing of a knee: "Mrs Example", "Sam's left Lachman"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fabella.dictation.listed import load_listed
from fabella.dictation.vocabulary import Lexicon, Tag
from fabella.dictation.words import Word, text_at

_OWNED = {Tag.SIDE, Tag.SIGN, Tag.SITE}
_KNEE = {"knee", "knees", "leg", "legs"}
_SHORTEST = 2


def names_in(words: Sequence[Word], lexicon: Lexicon) -> frozenset[int]:
    """Return the places of the words that name somebody: behind a title, or as the owner of a knee.

    A word that is one once is one everywhere in a text; words that mean something are none, and neither are
    those that stand in the name of a test.
    """
    found = {*_titled(words, lexicon)}
    owners = [place for place in range(len(words)) if _owns(words, place, lexicon)]
    known = {words[place].text for place in (*found, *owners) if _may_name(words[place], lexicon)}
    again = {place for place, word in enumerate(words) if word.capital and word.text in known}
    return frozenset({*found, *owners, *again})


def endeared(words: Sequence[Word], place: int) -> int:
    """Return the place behind what somebody is called who is spoken to, "sweetheart"; or 0."""
    listed = load_listed("names")
    length = listed.length([word.text for word in words[place : place + listed.most]], "called")
    return place + length if length else 0


def called(words: Sequence[Word], place: int) -> int:
    """Return the place behind the name or the endearment of somebody who is greeted, or the same place."""
    if end := endeared(words, place):
        return end
    titled = (text_at(words, place),) in load_listed("names").names["titles"]
    start = place + titled + (titled and text_at(words, place + 1) == ".")
    end = start
    while end < min(start + _SHORTEST, len(words)) and words[end].capital:
        end += 1
    return end if end > start else place


def _titled(words: Sequence[Word], lexicon: Lexicon) -> Iterator[int]:
    """Yield the places of titles with the names behind them, and the full stop between."""
    for place, word in enumerate(words):
        if (word.text,) not in load_listed("names").names["titles"]:
            continue
        start = place + 1 + (text_at(words, place + 1) == ".")
        end = start
        while end < len(words) and end < start + _SHORTEST and _may_name(words[end], lexicon):
            if end > start and not words[end].capital:
                break
            end += 1
        if end > start:
            yield from range(place, end)


def _owns(words: Sequence[Word], place: int, lexicon: Lexicon) -> bool:
    """Say whether a word that is not known owns the knee, the sign or the place behind it."""
    word, after = words[place], words[place + 1] if place + 1 < len(words) else None
    if after is None or not (word.capital and word.possessive and _may_name(word, lexicon)):
        return False
    node = lexicon.tree.follows.get(after.stem)
    named = node is not None and any(meaning.tag in _OWNED for meaning in node.meanings)
    return named or after.text in _KNEE


def _may_name(word: Word, lexicon: Lexicon) -> bool:
    """Say whether a word can be somebody's name: letters that mean nothing else."""
    known = word.stem in lexicon.tree.follows or (word.stem,) in lexicon.slips
    eponym = (word.text,) in load_listed("names").names["eponyms"]
    return word.text.isalpha() and len(word.text) >= _SHORTEST and not known and not eponym
