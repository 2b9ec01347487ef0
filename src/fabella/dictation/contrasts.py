"""What is only said in contrast to what stands before it: "… on the left, not on the right"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, break_at, item_at, sentence_at
from fabella.dictation.vocabulary import Tag
from fabella.dictation.words import Word, text_at

_ARTICLES = {"the", "her", "his"}
_KNEES = {"knee", "leg", "side", "one"}
_VERBS = {"is", "has", "was", "had", "shows", "looks", "moves", "bends", "goes", "feels"}
_TELLING = {
    Tag.SIGN, Tag.DESCRIBING, Tag.NUMBER, Tag.RANGE, Tag.ANGLE, Tag.SITE, Tag.UNKNOWN, Tag.COMPARTMENT,
}  # fmt: skip
_DRAWERS = {"anterior drawer", "posterior drawer"}
_NEAR = 3  # judgement: a test is spoken of for so many sentences
_UNKNOWN = {Tag.UNKNOWN, Tag.UNIT, Tag.NO_UNIT}


def end_contrasts(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "not on the right" behind "on the left" ends there, whatever sign follows.

    In speech without marks "warm on the left not on the right patellar tap positive" denies no tap.
    """
    kept: list[Item] = []
    for place, item in enumerate(items):
        if item.tag is Tag.SIGN and _closes_contrast(items, place):
            kept.append(break_at(item.first))
        kept.append(item)
    return kept


def _closes_contrast(items: Sequence[Item], place: int) -> bool:
    """Say whether a side, a "not" and the other side stand right before a sign, and another sign before."""
    at = _before_side(items, place)
    if at is None or not items[at].is_mark("no"):
        return False
    at = _before_side(items, at - item_at(items, at - 1).is_mark("but", "and"))
    told = [] if at is None else sentence_at(items[:place], place - 1)
    return at is not None and any(each.tag is Tag.SIGN for each in told)


def _before_side(items: Sequence[Item], place: int) -> int | None:
    """Return the place before the side that stands right before a place, with its "on the"; or None."""
    at = place - 1 - item_at(items, place - 1).is_mark("knee")
    if item_at(items, at).tag is not Tag.SIDE:
        return None
    return at - 1 - item_at(items, at - 1).is_mark("preposition")


def part_subjects(items: Sequence[Item], words: Sequence[Word]) -> tuple[Item, ...]:
    """Return the items in which "the right knee is …" begins a sentence in speech without marks.

    It is the subject of what follows, and no side of the sign before it.
    """
    kept: list[Item] = []
    for item in items:
        told = bool(kept) and (kept[-1].tag in _TELLING or kept[-1].is_mark("no"))
        if told and _is_subject(item, words):
            kept.append(break_at(item.first))
        kept.append(item)
    return tuple(kept)


def _is_subject(item: Item, words: Sequence[Word]) -> bool:
    if item.tag is not Tag.SIDE or item.of or text_at(words, item.first - 1) not in _ARTICLES:
        return False
    named = text_at(words, item.last) in _KNEES
    return named and text_at(words, item.last + 1) in _VERBS


def leave_apologies(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "excuse me" or "sorry" before words that tell nothing puts nothing right."""
    return [
        replace(item, tag=Tag.UNKNOWN, value=item.text, others=()) if _is_apology(items, place) else item
        for place, item in enumerate(items)
    ]


def _is_apology(items: Sequence[Item], place: int) -> bool:
    if not items[place].is_mark("sorry"):
        return False
    end = next((at for at in range(place, len(items)) if items[at].is_break(".")), len(items))
    rest = [each for each in items[place + 1 : end] if not each.is_break() and each.text != "?"]
    return bool(rest) and rest[0].tag in _UNKNOWN and not any(map(_puts_right, rest))


def _puts_right(item: Item) -> bool:
    return item.tag not in _UNKNOWN and item.tag is not Tag.MARK


def name_drawers(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "the drawer" is the one that was named shortly before, where only one was."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        bare = item.sign is not None and item.sign.name == "drawer" and not item.plural
        named = _named_before(items, place) if bare and not _is_directed(items, place) else None
        kept.append(item if named is None else replace(item, value=named.value))
    return kept


def _named_before(items: Sequence[Item], place: int) -> Item | None:
    stops = [at for at in range(place) if items[at].is_break(".")]
    start = stops[-_NEAR] if len(stops) >= _NEAR else 0
    named = [each for each in items[start:place] if each.sign is not None and each.sign.name in _DRAWERS]
    kinds = {each.sign.name for each in named if each.sign is not None}
    return named[-1] if len(kinds) == 1 else None


def _is_directed(items: Sequence[Item], place: int) -> bool:
    return any(item_at(items, place + step).tag is Tag.COMPARTMENT for step in (-1, 1))
