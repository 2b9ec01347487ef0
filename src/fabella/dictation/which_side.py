"""What stands beside a side and tells how far it reaches: its knee, its preposition, a word not known."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.items import Item, item_at
from fabella.dictation.vocabulary import Tag

_OF_SIDES = {"on", "in", "at", "over", "for", "to", "into", "from", "around"}
_READINGS = {Tag.NUMBER, Tag.RANGE, Tag.DESCRIBING, Tag.SIGN}


def leads_to_side(item: Item) -> bool:
    """Say whether a preposition may lead to a side: "on", "in"."""
    return item.is_mark("preposition") and item.text in _OF_SIDES


def names_knee(item: Item) -> bool:
    """Say whether "knee" goes with the side before it, or "patella", which then is no site."""
    return item.is_mark("knee") or (item.tag is Tag.SITE and item.value == "tenderness_patella")


def opens_leg(items: Sequence[Item], place: int, following: Item) -> bool:
    """Say whether a name of the leg follows a side that opens a sentence: "the right leg is straight"."""
    opens = item_at(items, place - 1).is_break(".") and following.tag is Tag.SIGN
    return opens and following.text.startswith("leg ") and "straight" in following.text


def is_of_side(items: Sequence[Item], place: int, last: int) -> bool:
    """Say whether a word that is not known may be what a side is of: "left xyz", but not "left is xyz 2+"."""
    following, then = item_at(items, last), item_at(items, last + 1)
    apart = following.first > items[place].last and following.value == following.text
    return following.tag is Tag.UNKNOWN and not (apart and then.tag in _READINGS)
