"""The knee that is stable to something: "the knee is stable to varus and valgus" is no word of the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, item_at
from fabella.dictation.vocabulary import Describing, Lexicon, Tag

_WORDS = ("stable", "solid", "sound", "firm")
_STABILITY = {"stable", "lax", "firm", "increased"}
_AT = {Tag.BOW, Tag.ANGLE, Tag.COMPARTMENT}


def settle_stability(items: Sequence[Item], lexicon: Lexicon) -> list[Item]:
    """Return the items in which "knee stable" before a direction or a bend is only stable in that."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        stable = next((each for each in _WORDS if each in item.text.split()), "")
        if stable and _is_whole(item) and _is_limited(items, place + 1):
            node = lexicon.tree.follows[stable]
            said = next(each.value for each in node.meanings if each.tag is Tag.DESCRIBING)
            kept.append(replace(item, tag=Tag.DESCRIBING, value=said, text=stable, others=()))
        else:
            kept.append(item)
    return kept


def _is_whole(item: Item) -> bool:
    return item.sign is not None and item.sign.name == "ligaments stable"


def _is_limited(items: Sequence[Item], place: int) -> bool:
    """Say whether a direction, a bend or a word that is not known follows at once, or behind "to"."""
    if not item_at(items, place).is_mark("preposition"):
        return item_at(items, place).tag in _AT
    return item_at(items, place + 1).tag in {*_AT, Tag.UNKNOWN}


def speaks_of_stability(item: Item) -> bool:
    """Say whether a word tells how a ligament holds: a bend, millimetres, a grade, or that it is well."""
    value = item.value
    if item.tag is Tag.ANGLE:
        return True
    if isinstance(value, Quantity):
        return value.unit == "mm"
    if not isinstance(value, Describing):
        return False
    well = value.says == "good" and "alignment" not in value.fits
    return well or value.key in _STABILITY or value.grade is not None or value.key in {"positive", "negative"}


def is_stable(item: Item) -> bool:
    """Say whether a word tells how stable something is."""
    return isinstance(item.value, Describing) and item.value.key in _STABILITY
