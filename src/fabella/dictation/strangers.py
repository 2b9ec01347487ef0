"""Words that are not known, and others in which nothing can be recorded: shown, with what they may mean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from difflib import SequenceMatcher, get_close_matches

from fabella.dictation.account import is_telling
from fabella.dictation.items import Item, item_at, sentence_at, sentences
from fabella.dictation.listed import load_listed
from fabella.dictation.spans import Mark
from fabella.dictation.understood import Became, Idle
from fabella.dictation.vocabulary import Lexicon, Tag

NOT_KNOWN = "the word is not known"
NONE_KNOWN = "none of these words is known"
NO_PART = "it is no part of the knee"
_NEAR = 0.75
_SHORTEST = 4
_CANDIDATES = 5
_LETTERS_A_SLIP = 3  # judgement: one letter in three may be wrong
_NEVER_GUESSED = ("varus", "valgus", "right", "left")


def marks_of_strangers(items: Sequence[Item], lexicon: Lexicon) -> list[Mark]:
    """Return the marks of words without a meaning; a run of them that nothing parts is one."""
    marks: list[Mark] = []
    after = False
    idle = _idle_sentences(items)
    begun = -1
    for place, item in enumerate(items):
        if _is_everyday(items, place):
            marks.append(Mark(pieces=((item.first, item.last),), became=Became.FRAME, why=Idle.FILLER))
            after = False
            continue
        misspelt = item.tag is Tag.SIDE and not item.value and item.first < item.last
        if not (misspelt or item.tag in {Tag.UNKNOWN, Tag.NO_UNIT, Tag.UNIT} or item.is_mark("elsewhere")):
            after = False
            continue
        mark = _mark(item, lexicon)
        same, begun = idle.get(place) == begun, idle.get(place, -2)
        if (after or (same and marks)) and _is_plain(mark) and _is_plain(marks[-1]):
            ((first, _),) = marks[-1].pieces
            marks[-1] = replace(mark, pieces=((first, item.last),), why=NONE_KNOWN)
        else:
            marks.append(mark)
        after = True
    return marks


def _is_everyday(items: Sequence[Item], place: int) -> bool:
    """Say whether a word is one of everyday speech where nothing tells of a knee."""
    item = items[place]
    if item.tag is not Tag.UNKNOWN or item.value != item.text:
        return False
    return _are_everyday(sentence_at(items, place)) or _stands_apart(items, place)


def _are_everyday(beside: Sequence[Item]) -> bool:
    """Say whether every word that is not known is listed so, and nothing beside them tells of a knee."""
    names = load_listed("everyday").names["words"]
    strange = any(each.tag is Tag.UNKNOWN and (each.text,) not in names for each in beside)
    return not strange and not any(is_telling(each) or each.tag is Tag.SIDE for each in beside)


def _stands_apart(items: Sequence[Item], place: int) -> bool:
    """Say whether a word names people, places or what they do, and none beside it tells of a knee."""
    start = end = place
    while _is_thing(item_at(items, start - 1)):
        start -= 1
    while _is_thing(item_at(items, end + 1)):
        end += 1
    beside = [item_at(items, start - 1), item_at(items, end + 1)]
    told = any(is_telling(each) or each.tag in {Tag.SIDE, Tag.UNKNOWN} for each in beside)
    return _is_thing(items[place]) and not told


def _is_thing(item: Item) -> bool:
    return item.tag is Tag.UNKNOWN and (item.text,) in load_listed("everyday").names["things"]


def _idle_sentences(items: Sequence[Item]) -> dict[int, int]:
    """Return for each item of a sentence in which nothing tells of a knee where that sentence begins.

    Its words that are not known are one question, whatever stands between them.
    """
    idle: dict[int, int] = {}
    start = 0
    for sentence in sentences(items):
        end = start + len(sentence)
        if not any(is_telling(each) or each.tag in {Tag.SIDE, Tag.PERSON} for each in sentence):
            idle.update(dict.fromkeys(range(start, end), start))
        start = end
    return idle


def _is_plain(mark: Mark) -> bool:
    """Say whether nothing at all is to be said of a word but that it is not known."""
    return mark.why in {NOT_KNOWN, NONE_KNOWN} and not mark.nearest


def _mark(item: Item, lexicon: Lexicon) -> Mark:
    pieces = ((item.first, item.last),)
    if item.tag is Tag.NO_UNIT:
        return Mark(
            pieces=pieces, became=Became.NOT_UNDERSTOOD, why="nothing can be recorded in this measure"
        )
    if item.is_mark("elsewhere"):
        return Mark(pieces=pieces, became=Became.NOT_UNDERSTOOD, why=NO_PART)
    if item.tag is Tag.UNKNOWN and item.value != item.text:
        return Mark(pieces=pieces, became=Became.NOT_UNDERSTOOD, why=str(item.value))
    near = _nearest(item.text, lexicon)
    if near in _NEVER_GUESSED:
        why = "varus or valgus? right or left? Never guessed"
        return Mark(pieces=pieces, became=Became.NOT_UNDERSTOOD, why=why)
    return Mark(pieces=pieces, became=Became.NOT_UNDERSTOOD, why=NOT_KNOWN, nearest=near)


def _nearest(word: str, lexicon: Lexicon) -> str:
    """Return the known word most like an unknown one, by letters, then by the longest run; or nothing."""
    if len(word) < _SHORTEST:
        return ""
    ranked = []
    for near in get_close_matches(word, lexicon.words, n=_CANDIDATES, cutoff=_NEAR):
        likeness = SequenceMatcher(a=word, b=near)
        if _slips(likeness) * _LETTERS_A_SLIP <= len(word):
            ranked.append((likeness.ratio(), likeness.find_longest_match().size, near))
    return max(ranked)[2] if ranked else ""


def _slips(likeness: SequenceMatcher[str]) -> int:
    """Return how many letters are another, missing or too many: "sibling" has three that "skiing" has not."""
    return sum(max(b - a, d - c) for kind, a, b, c, d in likeness.get_opcodes() if kind != "equal")
