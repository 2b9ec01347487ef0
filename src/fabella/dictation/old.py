"""What is old, and so no alarm: "both legs swollen for years", unless more is told in its sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.account import is_telling
from fabella.dictation.items import Item, sentence_at
from fabella.dictation.vocabulary import Tag

OLD_AND_UNCHANGED = "is all of it old and unchanged?"
_OLD = ("old_leg_swelling",)
_SAYS_ALL = "unchanged"


def ask_of_old(items: Sequence[Item]) -> tuple[Item, ...]:
    """Return the items in which what is old is asked about where anything else stands in its sentence.

    "Both legs swollen for years, the left more since Friday" is not old and unchanged.
    """
    return tuple(_asked(items, place) for place in range(len(items)))


def _asked(items: Sequence[Item], place: int) -> Item:
    item = items[place]
    if item.sign is None or item.sign.to != _OLD or _SAYS_ALL in item.text:
        return item
    beside = [each for each in sentence_at(items, place) if each is not item]
    denied = [each for each in beside if each.is_mark("no", "denies")]
    if len(denied) == len([each for each in beside if _tells_more(each)]):
        return item
    return replace(item, tag=Tag.UNKNOWN, value=OLD_AND_UNCHANGED, others=())


def _tells_more(item: Item) -> bool:
    return is_telling(item) or item.tag in {Tag.UNKNOWN, Tag.UNIT, Tag.PERSON} or item.is_mark("but")
