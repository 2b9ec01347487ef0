"""Nothing said in other words: "crepitus 0", "0 laxity", "lacks tenderness"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.fitting import Fit
from fabella.dictation.items import Item, Quantity, item_at, reads, sentence_at
from fabella.dictation.nodes import Head, Mod
from fabella.dictation.vocabulary import Class, Describing, SignWord, Tag

_NIL = Describing(key="nil", says="absent")
_LACKS = ("lack", "lacks", "lacking", "lacked")
_MOVEMENTS = {"passive_extension", "passive_flexion", "active_flexion"}


def settle_lacking(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "lacks", "nil" or "0" before a sign is a "no", which may reach a list."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        lacking = item.text in _LACKS and reads(item, "shortfall")
        lacking = lacking and _may_be_lacked(item_at(items, place + 1))
        if _may_be_minus(items, place):
            kept.append(replace(item, tag=Tag.MARK, value="hedge"))
            kept.append(replace(item, value=",", first=item.last))
        elif lacking or _denies_ahead(items, place):
            kept.append(replace(item, tag=Tag.MARK, value="no", others=()))
        else:
            kept.append(item)
    return kept


def _may_be_minus(items: Sequence[Item], place: int) -> bool:
    """Say whether a dash between two signs may be a result, as others are pluses: "pivot - sag +"."""
    if not items[place].is_break() or items[place].text != "-":
        return False
    if not all(item_at(items, at).tag is Tag.SIGN for at in (place - 1, place + 1)):
        return False
    return any(
        isinstance(item.value, Describing) and item.value.key == "positive" and not item.text
        for item in sentence_at(items, place)
    )


def _denies_ahead(items: Sequence[Item], place: int) -> bool:
    """Say whether "nil" or "0" opens a piece right before something that is there or not: "nil effusion"."""
    item = items[place]
    value = item.value
    nought = isinstance(value, Quantity) and not value.value and not value.unit and value.out_of is None
    if not nought and not (isinstance(value, Describing) and value.key == "nil"):
        return False
    before = item_at(items, place - 1)
    opens = before.is_break() or before.tag is Tag.SIDE or before.is_mark("knee", "and", "or")
    word = _word(item_at(items, place + 1))
    return opens and word is not None and word.kind is Class.ILLNESS


def _may_be_lacked(item: Item) -> bool:
    return item.tag is Tag.SITE or (item.sign is not None and not _MOVEMENTS.intersection(item.sign.to))


def settle_noughts(items: Sequence[Item], fit: Fit) -> tuple[Item, ...]:
    """Return the items in which a bare 0 beside a sign that has no such grade says that it is not there."""
    kept = list(items)
    for place, item in enumerate(items):
        value = item.value
        bare = isinstance(value, Quantity) and not value.value and not value.unit and value.out_of is None
        word = _sign_of(items, place) if bare else None
        if word is not None and not fit.measures(Mod(item=item), word):
            kept[place] = replace(item, tag=Tag.DESCRIBING, value=_NIL, text="0")
    return tuple(kept)


def _sign_of(items: Sequence[Item], place: int) -> SignWord | None:
    """Return the sign of which a number is told: the one before it, else the one right behind it."""
    at = place - 1
    while at >= 0 and (items[at].tag in {Tag.SIDE, Tag.COMPARTMENT} or items[at].is_break(":")):
        at -= 1
    word = _word(item_at(items, at)) or _word(item_at(items, place + 1))
    return word if word is not None and word.kind in {Class.ILLNESS, Class.TEST} else None


def _word(item: Item) -> SignWord | None:
    value = item.value.word if isinstance(item.value, Head) else item.value
    return value if isinstance(value, SignWord) else None
