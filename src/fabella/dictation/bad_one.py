"""Which knee is the bad one, said of a knee that was just named: "and the left, which is the bad one"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.anatomy import Side
from fabella.dictation.items import Item, item_at
from fabella.dictation.nobody import COMPLAINT
from fabella.dictation.vocabulary import Tag

_WHICH = "which"


def settle_bad_one(items: Sequence[Item]) -> tuple[Item, ...]:
    """Return the items in which "the bad one" behind a named knee tells of the complaint.

    That the named one is "the good one" adds nothing.
    """
    kept: list[Item] = []
    for place, item in enumerate(items):
        named = _named_before(kept) if _tells_which(items, place) else 0
        if not named:
            kept.append(item)
            continue
        del kept[named:]
        if item.value == "affected":
            kept.append(replace(item, tag=Tag.PERSON, value=COMPLAINT, others=()))
    return tuple(kept)


def _tells_which(items: Sequence[Item], place: int) -> bool:
    """Say whether an item is "the bad one" or "the good knee", at the end of its clause."""
    item = items[place]
    after = item_at(items, place + 1)
    after = item_at(items, place + 2) if after.is_mark("knee") else after
    return item.tag is Tag.SIDE and item.value in {"affected", "sound"} and after.is_break()


def _named_before(kept: Sequence[Item]) -> int:
    """Return the place behind the knee that was named right before, over a comma and "which"; or 0."""
    end = len(kept)
    if end and kept[end - 1].is_mark("and") and kept[end - 1].text == _WHICH:
        end -= 1
    elif end and kept[end - 1].is_mark("and"):
        return 0
    if end and kept[end - 1].is_break(","):
        end -= 1
    side = end - 1 - (end > 1 and kept[end - 1].is_mark("knee"))
    return end if side >= 0 and kept[side].tag is Tag.SIDE and kept[side].value in set(Side) else 0
