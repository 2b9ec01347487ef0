"""Degrees of extension as they are spoken: "zero" is a reading there, and a plus is beyond straight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, item_at
from fabella.dictation.vocabulary import Describing, Tag

_MOVEMENTS = {"extension", "flexion", "range", "shortfall"}
_PLUSES = {"1+", "positive"}
_GOES_ON = ("and", "but", "preposition")


def settle_signed(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "zero" and "plus five" behind a movement are its degrees.

    A movement is the last sign named, in the sentence or in the one before it ("Extension. Right zero.").
    """
    kept: list[Item] = []
    sentence, told, reader = 0, -1, ""
    place = 0
    while place < len(items):
        item, after = items[place], item_at(items, place + 1)
        if item.is_break("."):
            sentence += 1
        if item.sign is not None:
            reader, told = item.sign.reader, sentence
        moved = reader if sentence - told <= 1 else ""
        if moved in _MOVEMENTS and item.tag is Tag.NUMBER:
            told = sentence  # "Extension. Left, minus fifteen. Right, zero."
        if moved == "extension" and _is_plus(item) and (beyond := _beyond(after)) is not None:
            kept.append(replace(after, value=beyond, first=item.first))
            place += 1
        elif moved == "extension" and after.text == "beyond" and (beyond := _beyond(item)) is not None:
            kept.append(replace(item, value=beyond, last=after.last))
            place += 1
        elif moved in _MOVEMENTS and _is_zero(item) and _ends(after):
            kept.append(replace(item, tag=Tag.NUMBER, value=Quantity(value=0.0), others=()))
        else:
            kept.append(item)
        place += 1
    return kept


def _is_plus(item: Item) -> bool:
    """Say whether a single plus stands right before what follows, spoken or written."""
    value = item.value
    single = item.last == item.first + 1 and not item.text and isinstance(value, Describing)
    return single and value.key in _PLUSES


def _beyond(item: Item) -> Quantity | None:
    value = item.value
    if not isinstance(value, Quantity) or value.unit not in {"", "deg"} or value.out_of is not None:
        return None
    return replace(value, beyond=True)


def _is_zero(item: Item) -> bool:
    return item.text == "zero" and isinstance(item.value, Describing) and item.value.key == "nil"


def _ends(item: Item) -> bool:
    """Say whether nothing follows a "zero" that it could deny."""
    return item.is_break() or item.tag is Tag.SIDE or item.is_mark(*_GOES_ON)
