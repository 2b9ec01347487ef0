"""Positions that only sound like findings: pain "on full extension", a drawer "in external rotation"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, item_at
from fabella.dictation.vocabulary import Class, SignWord, Tag

TURNED = "a drawer in rotation has its own signs: anteromedial, posterolateral"
_POSITIONS = {"on", "to", "at", "in", "into"}
_WHEN = {"as", "on", "with", "during", "through"}
_MOVES = {"passive_flexion", "passive_extension", "active_flexion", "range_of_motion_limited"}
_PAIN_IN = {"full extension": "forced_extension_pain", "full flexion": "flexion_pain"}


def settle_positions(items: list[Item]) -> list[Item]:
    """Return the items in which "pain … on full extension" is no statement that the extension is full."""
    kept = list(items)
    for place, item in enumerate(items[1:], start=1):
        if _turns_foot(items, place):
            kept[place] = replace(item, tag=Tag.UNKNOWN, value=TURNED)
        if _only_when(items, place):
            kept[place] = replace(
                item, value=SignWord(name=item.text, kind=Class.HEALTH, silent=True), others=()
            )
            continue
        full = item.sign is not None and item.sign.kind is Class.SOUND and item.text.startswith("full ")
        name = _PAIN_IN.get(item.sign.name) if item.sign is not None and full else None
        if name is None or items[place - 1].text not in _POSITIONS:
            continue
        pain = any(_is_pain(each) for each in items[max(0, place - 3) : place])
        word = SignWord(name=name, to=(name,))
        kept[place] = replace(item, value=word) if pain else replace(item, tag=Tag.UNKNOWN, value=item.text)
    return kept


def _only_when(items: Sequence[Item], place: int) -> bool:
    """Say whether a movement only tells when there is crepitus: "under the kneecap as she straightens"."""
    moved, lead, after = items[place].sign, items[place - 1], item_at(items, place + 1)
    if moved is None or not _MOVES.intersection(moved.signs) or lead.text not in _WHEN:
        return False
    before = next((each for each in reversed(items[: place - 1]) if not _is_place(each)), lead)
    crepitus = before.sign is not None and before.sign.group == "crepitus"
    return crepitus and (after.is_break() or after.tag is Tag.SIDE or after.is_mark("preposition", "but"))


def _is_place(item: Item) -> bool:
    return item.tag is Tag.SITE or item.is_mark("preposition")


def _turns_foot(items: Sequence[Item], place: int) -> bool:
    """Say whether a rotation is that of the foot in a drawer test, and none of the hip."""
    item = items[place]
    if item.sign is None or "hip_rotation_reduced" not in item.sign.to or "hip" in item.text:
        return False
    before = next(
        (each for each in reversed(items[:place]) if each.tag is Tag.SIGN or each.is_break(".")), item
    )
    return before.sign is not None and before.sign.family == "drawer"


def _is_pain(item: Item) -> bool:
    return item.sign is not None and bool({*_PAIN_IN.values()} & {*item.sign.to})
