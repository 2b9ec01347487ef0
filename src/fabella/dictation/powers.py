"""Power out of five: without a muscle that of the knee, of "PF" that of the ankle bent down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, item_at, reads, sentence_at
from fabella.dictation.vocabulary import Tag

_OF_FOOT = {
    "distal_neurovascular", "distal_pulses", "capillary_refill_s", "cool_foot", "peroneal_sensation",
    "foot_drop", "tibial_nerve_sensation", "tibial_nerve_motor", "pitting_oedema",
}  # fmt: skip
_OF_FIVE = 5
OF_WHICH_MUSCLE = "it is not said of which muscle"
NO_POWER = "plantarflexion only with its power out of five; else patellofemoral?"


def settle_powers(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "power" is not known unless it opens its piece and a mere grade follows.

    Behind nerves and pulses of a foot it may be that of the foot, and beside a word that is not known that of
    another part. "PF" is plantarflexion where a power follows, and not known elsewhere.
    """
    return [_out_of_five(items, place) for place in range(len(items))]


def _out_of_five(items: Sequence[Item], place: int) -> Item:
    """Return a bare number behind a knee as a power, where one was told: "right 4/5, left five"."""
    item = _settled(items, place)
    number, before = item.value, item_at(items, place - 1)
    before = item_at(items, place - 2) if before.is_mark("knee") else before
    bare = (
        isinstance(number, Quantity) and not number.unit and number.out_of is None and number.diameters == 1
    )
    if not bare or before.tag is not Tag.SIDE or not item_at(items, place + 1).is_break():
        return item
    sentence = sentence_at(items, place)
    told = any(_is_graded([each]) for each in items[:place] if each in sentence)
    power = any(each.sign is not None and each.sign.group == "strength" for each in sentence)
    return (
        replace(item, value=replace(number, out_of=_OF_FIVE))
        if told and power and number.value <= _OF_FIVE
        else item
    )


def _settled(items: Sequence[Item], place: int) -> Item:
    item = items[place]
    if reads(item, "power") and not _is_of_knee(items, place):
        return replace(item, tag=Tag.UNKNOWN, value=OF_WHICH_MUSCLE)
    if item.text == "pf" and reads(item, "nerve_power") and not _is_graded(_after(items, place)):
        return replace(item, tag=Tag.UNKNOWN, value=NO_POWER)
    return item


def _is_of_knee(items: Sequence[Item], place: int) -> bool:
    before = item_at(items, place - 1)
    opens = before.is_break() or before.tag is Tag.SIDE or before.is_mark("knee")
    after = _after(items, place)
    named = any(item.tag is Tag.SIGN for item in after[1:])
    return opens and _is_graded(after) and not named and not _follows_foot(items[:place])


def _after(items: Sequence[Item], place: int) -> list[Item]:
    """Return the next two items behind a place that say something."""
    return [item for item in items[place + 1 :] if not _may_stand_between(item)][:2]


def _is_graded(after: Sequence[Item]) -> bool:
    """Say whether a number out of five comes first."""
    return bool(after) and isinstance(after[0].value, Quantity) and after[0].value.out_of == _OF_FIVE


def _may_stand_between(item: Item) -> bool:
    return item.tag is Tag.SIDE or item.is_break(":") or item.is_mark("knee", "preposition")


def _follows_foot(items: Sequence[Item]) -> bool:
    """Say whether the sign before it in its sentence is of the nerves or vessels of a foot."""
    for item in reversed(items):
        if item.is_break("."):
            return False
        if item.tag is Tag.SIGN:
            return is_of_foot(item)
    return False


def is_of_foot(item: Item) -> bool:
    """Say whether a sign tells of the vessels or nerves of a foot, so that the foot names the leg."""
    return item.sign is not None and bool(_OF_FOOT.intersection(item.sign.to))
