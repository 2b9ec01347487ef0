"""Two results in the order that was agreed on: "right then left each time. Effusion, small, none."."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, sentences
from fabella.dictation.vocabulary import Describing, Tag
from fabella.dictation.words import Word, sentence_of

_KNEES = ("right", "left")
_BETWEEN = {"then", "and", "first", "before", ","}
_ALWAYS = (
    "each time", "every time", "throughout", "in each case", "for each", "for each sign", "always",
    "all the way through", "in that order", "for every sign", "for all of them", "sign by sign",
)  # fmt: skip
_END_POINTS = {"firm", "soft", "mushy"}
_FARTHEST = 4
_ABSENT = Describing(key="negative", says="absent")
_PLACED = {Tag.SIGN, Tag.SITE}
_RESULTS = {Tag.DESCRIBING, Tag.NUMBER, Tag.RANGE, Tag.BOW, Tag.SIGN, Tag.MARK}
_OF_A_HEADING = {*_PLACED, Tag.ANGLE, Tag.COMPARTMENT, Tag.BOW, Tag.UNKNOWN, Tag.LANDMARK}


def name_in_order(items: Sequence[Item], words: Sequence[Word]) -> tuple[Item, ...]:
    """Return the items in which a sign with two results gives each to its knee, where an order was said.

    What has one result, or three, or names a knee itself is left as it is.
    """
    agreed = _agreed(words)
    if agreed is None:
        return tuple(items)
    behind, order = agreed
    kept: list[Item] = []
    for sentence in sentences(items):
        kept += _ordered(sentence, order) if sentence[0].first >= behind else sentence
    return tuple(kept)


def _agreed(words: Sequence[Word]) -> tuple[int, tuple[str, str]] | None:
    """Return the place behind the sentence in which the order is agreed on, and the order; or None."""
    for place, word in enumerate(words):
        if word.text not in _KNEES:
            continue
        start, end = sentence_of(words, place)
        said = " ".join(each.text for each in words[start:end])
        ahead = [each.text for each in words[place + 1 : min(place + 1 + _FARTHEST, end)]]
        other = next((each for each in ahead if each not in _BETWEEN), "")
        if {word.text, other} == {*_KNEES} and "then" in ahead and any(each in said for each in _ALWAYS):
            return end, (word.text, other)
    return None


def _ordered(sentence: list[Item], order: tuple[str, str]) -> list[Item]:
    """Return a sentence with a knee before each of the two results behind its sign, or as it is."""
    ends = sentence[-1].is_break(".")
    pieces = _pieces(sentence[:-1] if ends else sentence)
    if len(pieces) != len(order) + 1 or not _names(pieces[0]) or not all(map(_tells, pieces[1:])):
        return sentence
    told = [*pieces[0]]
    for number, (piece, side) in enumerate(zip(pieces[1:], order, strict=True)):
        at = piece[0].first
        told.append(Item(tag=Tag.BREAK, value="," if number else ":", first=at, last=at))
        told.append(Item(tag=Tag.SIDE, value=side, first=at, last=at, text=side))
        told += [_as_result(piece[0], alone=len(piece) == 1), *piece[1:]]
    return [*told, *sentence[-1:]] if ends else told


def _pieces(items: Sequence[Item]) -> list[list[Item]]:
    pieces: list[list[Item]] = [[]]
    for item in items:
        if item.is_break(","):
            pieces.append([])
        else:
            pieces[-1].append(item)
    return pieces


def _names(piece: Sequence[Item]) -> bool:
    """Say whether a piece names a sign or a place and says nothing of it."""
    named = any(item.tag in _PLACED for item in piece)
    return named and all(item.tag in _OF_A_HEADING or item.is_mark("preposition") for item in piece)


def _tells(piece: Sequence[Item]) -> bool:
    """Say whether a piece is a result and names no knee."""
    if any(isinstance(item.value, Describing) and item.value.key in _END_POINTS for item in piece):
        return False  # "negative, firm": a result and its end point
    return bool(piece) and all(item.tag in _RESULTS and not item.is_mark("same") for item in piece)


def _as_result(item: Item, *, alone: bool) -> Item:
    """Return a "no" that is all that was said as the result "absent"."""
    if alone and item.is_mark("no") and item.text == "no":
        return replace(item, tag=Tag.DESCRIBING, value=_ABSENT, others=())
    return item
