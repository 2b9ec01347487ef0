"""Nouns that are said once for several: "anterior and posterior drawer", "no back, hip or groin pain"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item
from fabella.dictation.vocabulary import Lexicon, Meaning, SignWord, Tag
from fabella.dictation.words import Word, stem

_NEVER_PARTED = {"active", "passive", "actively", "passively"}
"""A movement may be both at once: "active and passive flexion 120" is one reading."""

_TWO = 2


def restore_nouns(items: Sequence[Item], words: Sequence[Word], lexicon: Lexicon) -> tuple[Item, ...]:
    """Return the items in which a word that leaves its noun to the sign after "and" is a sign, too."""
    kept = list(items)
    nouns: dict[int, str] = {}
    for place in range(len(items) - 3, -1, -1):
        joint, sign = items[place + 1], kept[place + 2]
        noun = nouns.get(place + 2, "")
        if joint.is_mark("and", "or") or joint.is_break("/"):
            noun = noun or _noun(sign, words)
        elif not joint.is_break(","):
            noun = ""
        if noun and (named := _named(items[place], noun, words, lexicon)) is not None:
            kept[place] = replace(items[place], tag=Tag.SIGN, value=named.value, others=())
            nouns[place] = noun
    return tuple(_restore_adjectives(kept, words, lexicon))


def _restore_adjectives(items: list[Item], words: Sequence[Word], lexicon: Lexicon) -> list[Item]:
    """Return the items in which a site takes its first word from the sign before: "tight quads & hams"."""
    kept = list(items)
    for place in range(2, len(items)):
        sign, joint, site = kept[place - 2], items[place - 1], items[place]
        joined = joint.is_mark("and", "or") or joint.is_break("/", ",")
        if (
            not joined
            or site.tag is not Tag.SITE
            or sign.tag is not Tag.SIGN
            or sign.last - sign.first < _TWO
        ):
            continue
        named = named_by(lexicon, (words[sign.first].stem, *site.text.split()))
        if named is not None:
            kept[place] = replace(site, tag=Tag.SIGN, value=named.value, others=())
    return kept


def _noun(sign: Item, words: Sequence[Word]) -> str:
    """Return the last word of a sign of several words, which may be that of the word before, too."""
    several = sign.tag is Tag.SIGN and isinstance(sign.value, SignWord) and sign.last - sign.first > 1
    return words[sign.last - 1].stem if several else ""


def _named(item: Item, noun: str, words: Sequence[Word], lexicon: Lexicon) -> Meaning | None:
    """Return the sign that a single word and a noun name together, or None."""
    never = item.tag in {Tag.SIDE, Tag.BOW} or (item.tag is Tag.COMPARTMENT and item.value in _NEVER_PARTED)
    if never or item.last - item.first != 1:
        return None
    return named_by(lexicon, (words[item.first].stem, noun))


def named_by(lexicon: Lexicon, stems: Sequence[str]) -> Meaning | None:
    """Return the sign that words name together, or None."""
    node = lexicon.tree
    for each in stems:
        for one in lexicon.slips.get((stem(each),), (stem(each),)):
            if one not in node.follows:
                return None
            node = node.follows[one]
    return next((each for each in node.meanings if each.tag is Tag.SIGN), None)
