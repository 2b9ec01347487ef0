"""The girth that is told by its height alone: "15 cm above the patella, 48 on the right, 46 on the left"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, item_at, sentence_at
from fabella.dictation.vocabulary import Lexicon, Tag

_LENGTHS = {"", "cm"}
_GIRTHS = {"thigh_girth", "calf_girth"}
_GREATEST_HEIGHT_CM = 25  # judgement: no girth of an adult is so small, and none is measured higher


def name_girths(items: Sequence[Item], lexicon: Lexicon) -> list[Item]:
    """Return the items in which a height above the patella, with a reading of each side, is of the thigh.

    A sentence that names any sign tells of that sign: a lump or a wound may be there as well.
    """
    kept: list[Item] = []
    for place, item in enumerate(items):
        if item.tag is Tag.LANDMARK and "above" in item.text.split() and _only_measures(items, place):
            thigh = len(kept) - 1 - item_at(kept, len(kept) - 1).is_break(",")
            named = item_at(kept, thigh).is_mark("elsewhere") and item_at(kept, thigh).text == "thigh"
            first = kept[thigh].first if named else item.first
            last = kept[thigh].last if named else item.first
            del kept[thigh if named else len(kept) :]
            word = lexicon.thigh_girth
            kept.append(Item(tag=Tag.SIGN, value=word, first=first, last=last, text=word.name))
        kept.append(item)
    return kept


def _only_measures(items: Sequence[Item], place: int) -> bool:
    sentence = sentence_at(items, place)
    told = {Tag.SIGN, Tag.LUMP, Tag.SITE, Tag.DESCRIBING, Tag.COMPARTMENT, Tag.UNKNOWN}
    behind = sentence[sentence.index(items[place]) + 1 :]
    readings = [each for each in behind if isinstance(each.value, Quantity) and each.value.unit in _LENGTHS]
    sides = {each.value for each in behind if each.tag is Tag.SIDE}
    return not any(each.tag in told for each in sentence) and bool(readings) and len(sides) > 0


def place_girths(items: Sequence[Item]) -> list[Item]:
    """Return the items in which the first number tells where a girth was measured: "girth at 15 cm, 48"."""
    kept = list(items)
    for place, item in enumerate(items):
        if item.sign is None or not _GIRTHS.intersection(item.sign.to):
            continue
        at = place + 1 + item_at(items, place + 1).is_mark("preposition")
        led = item.text.endswith(" at") or item_at(items, place + 1).text == "at"
        value = item_at(items, at).value
        end = next((each for each in range(at, len(items)) if items[each].is_break(".")), len(items))
        read = any(each.tag is Tag.NUMBER for each in items[at + 1 : end])
        height = isinstance(value, Quantity) and value.unit == "cm" and value.value <= _GREATEST_HEIGHT_CM
        if led and read and height and items[at + 1].is_break(","):
            kept[at] = replace(items[at], tag=Tag.LANDMARK, value="", others=())
    return kept
