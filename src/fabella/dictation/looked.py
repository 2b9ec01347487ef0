"""A knee that was only looked at: "on inspection the left knee is normal" says nothing of its ligaments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, break_at, is_whole
from fabella.dictation.vocabulary import Describing, Tag
from fabella.dictation.words import Word, sentence_of

ONLY_LOOKED = "look normal"
_LOOKING = {"inspection", "inspecting", "insp", "palpation", "palpating", "palp", "looking"}
_EXAMINING = {"examination", "examined", "exam", "movement", "testing", "tests"}


def part_looked_at(items: Sequence[Item], words: Sequence[Word]) -> tuple[Item, ...]:
    """Return the items in which "normal" is said of what was seen or felt where its clause says so.

    It is not said of the sign that follows it: "the right knee looks normal warm on the left".
    """
    kept: list[Item] = []
    for item in items:
        if item.tag is Tag.SIGN and kept and _is_look(kept[-1]):
            kept.append(break_at(item.first, ","))
        kept.append(_looked(item, words) if is_whole(item) else item)
    return tuple(kept)


def _is_look(item: Item) -> bool:
    return item.tag is Tag.DESCRIBING and item.value.key == ONLY_LOOKED


def _looked(item: Item, words: Sequence[Word]) -> Item:
    said: Describing = item.value
    if item.tag is not Tag.DESCRIBING or not _is_of_looking(item, words):
        return item
    return replace(item, value=replace(said, key=ONLY_LOOKED), others=())


def _is_of_looking(item: Item, words: Sequence[Word]) -> bool:
    start, end = sentence_of(words, item.first)
    clause = {word.text for word in words[start:end]}
    return bool(clause & _LOOKING) and not clause & _EXAMINING
