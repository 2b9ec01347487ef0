"""Power out of five without a muscle: "power 5/5" is that of the knee where nothing else is beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, reads
from fabella.dictation.vocabulary import SignWord, Tag

_DISTAL = {
    "distal_neurovascular", "distal_pulses", "peroneal_sensation", "foot_drop", "tibial_nerve_sensation",
    "tibial_nerve_motor",
}  # fmt: skip
_OF_FIVE = 5
OF_WHICH_MUSCLE = "it is not said of which muscle"


def settle_powers(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "power" is not known unless it opens its piece and a mere grade follows.

    Behind nerves and pulses of a foot it may be that of the foot, and beside a word that is not known that of
    another part.
    """
    return [
        replace(item, tag=Tag.UNKNOWN, value=OF_WHICH_MUSCLE)
        if reads(item, "power") and not _is_of_knee(items, place)
        else item
        for place, item in enumerate(items)
    ]


def _is_of_knee(items: Sequence[Item], place: int) -> bool:
    before = items[place - 1] if place else None
    opens = before is None or before.is_break() or before.tag is Tag.SIDE or before.is_mark("knee")
    after = [item for item in items[place + 1 :] if not _may_stand_between(item)][:2]
    graded = bool(after) and isinstance(after[0].value, Quantity) and after[0].value.out_of == _OF_FIVE
    named = any(item.tag is Tag.SIGN for item in after[1:])
    return opens and graded and not named and not _follows_foot(items[:place])


def _may_stand_between(item: Item) -> bool:
    return item.tag is Tag.SIDE or item.is_break(":") or item.is_mark("knee", "preposition")


def _follows_foot(items: Sequence[Item]) -> bool:
    """Say whether the sign before it in its sentence is of the nerves or vessels of a foot."""
    for item in reversed(items):
        if item.is_break("."):
            return False
        if item.tag is Tag.SIGN:
            return isinstance(item.value, SignWord) and bool(_DISTAL.intersection(item.value.to))
    return False
