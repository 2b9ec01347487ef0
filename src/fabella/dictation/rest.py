"""What is left over of a knee, told by the other one: "rest as right", "otherwise same as the right"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, item_at
from fabella.dictation.vocabulary import Tag

REST_AS = "rest as"
WHAT_IS_THE_SAME = "the same as what?"
_SAME_THING = ("same", "exactly same", "just same")


def join_rest(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "the rest" and "as" or "same as" before a side are one comparison."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        if kept and kept[-1].is_mark("rest") and item.is_mark("like", "same") and _side_follows(items, place):
            kept[-1] = replace(kept[-1], value="same", text=REST_AS, last=item.last, others=())
        elif item.is_mark("same") and item.text in _SAME_THING and _is_next_unknown(items, place):
            kept.append(replace(item, tag=Tag.UNKNOWN, value=WHAT_IS_THE_SAME, others=()))
        else:
            kept.append(item)
    return kept


def _is_next_unknown(items: Sequence[Item], place: int) -> bool:
    """Say whether a word that is not known follows at once: "left, same bump" is not the same of all."""
    after = item_at(items, place + 1)
    return after.tag is Tag.UNKNOWN and after.first == items[place].last


def _side_follows(items: Sequence[Item], place: int) -> bool:
    after = place + 1 + (place + 1 < len(items) and items[place + 1].is_mark("preposition"))
    return after < len(items) and items[after].tag is Tag.SIDE
