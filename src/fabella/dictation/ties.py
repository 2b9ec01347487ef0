"""Words that only their company makes a sign: a glide in quadrants, minutes of stiffness in the morning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, item_at, reads
from fabella.dictation.nodes import Head
from fabella.dictation.vocabulary import Lexicon, SignWord, Tag

FOR_HOW_LONG = "stiff for a time: when?"
_TIMES = ("min", "h")
_REACH = 3
_OF_FIVE = 5


def tie_words(items: Sequence[Item], lexicon: Lexicon) -> list[Item]:
    """Return the items in which such a word has become its sign, or is not understood.

    "Glide 3 quadrants" is that of the patella; "stiff for ten minutes in the morning" is told, and a knee
    that is stiff for a time at another hour is not one that moves too little.
    """
    kept: list[Item] = []
    place = 0
    while place < len(items):
        item = items[place]
        if item.text == "glide" and _is_measured(items, place):
            kept.append(replace(item, tag=Tag.SIGN, value=_sign(lexicon, "patellar", "glide"), others=()))
        elif reads(item, "extension") and item.text.startswith("knee") and _is_power(items, place + 1):
            if len(kept) > 1 and kept[-1].is_break(",", ":") and reads(kept[-2], "power"):
                del kept[-2:]  # "strength, knee extension 4 out of 5"
            kept.append(replace(item, value=_sign(lexicon, "knee", "extension", "strength"), others=()))
        elif item.text in {"stiff", "stiffness"} and (time := _time_behind(items, place)):
            tied, place = _stiff(items, place, time, lexicon)
            kept.extend(tied)
        else:
            kept.append(item)
        place += 1
    return kept


def _sign(lexicon: Lexicon, *stems: str) -> SignWord:
    node = lexicon.tree
    for each in stems:
        node = node.follows[each]
    word: SignWord = next(meaning.value for meaning in node.meanings if meaning.tag is Tag.SIGN)
    return word


def _is_measured(items: Sequence[Item], place: int) -> bool:
    """Say whether a number of quadrants follows, or stands before: "a 2 quadrant glide"."""
    at = place + 1 + item_at(items, place + 1).is_break(":", ",")
    return any(_unit(item_at(items, each)) == "quadrant" for each in (place - 1, at))


def _is_power(items: Sequence[Item], place: int) -> bool:
    """Say whether a number out of five comes first of what is said from a place on."""
    while item_at(items, place).tag is Tag.SIDE or item_at(items, place).is_mark("preposition", "knee"):
        place += 1
    value = item_at(items, place).value
    return isinstance(value, Quantity) and value.out_of == _OF_FIVE


def _unit(item: Item) -> str:
    return item.value.unit if isinstance(item.value, Quantity) else ""


def _time_behind(items: Sequence[Item], place: int) -> int:
    """Return the place of the minutes or hours behind a word in its piece, or 0."""
    for at in range(place + 1, place + 1 + _REACH):
        item = item_at(items, at)
        if _unit(item) in _TIMES:
            return at
        if not item.is_mark("preposition"):
            break
    return 0


def _stiff(items: Sequence[Item], place: int, time: int, lexicon: Lexicon) -> tuple[list[Item], int]:
    """Return the stiffness of a time, with that time, and the place of the last word that belongs to it."""
    item, last = items[place], time + 1 + item_at(items, time + 1).is_mark("preposition")
    if item_at(items, last).text not in {"morning", "mornings"}:
        return [replace(item, tag=Tag.UNKNOWN, value=FOR_HOW_LONG, others=())], place
    pieces = ((item.first, item.last), (items[time].last, items[last].last))
    head = Head(word=_sign(lexicon, "morning", "stiffness"), pieces=pieces, text="morning stiffness")
    return [replace(item, value=head, others=()), items[time]], last
