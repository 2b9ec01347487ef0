"""Positions that only sound like findings: pain "on full extension", a drawer "in external rotation"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item
from fabella.dictation.vocabulary import Class, SignWord, Tag

TURNED = "a drawer in rotation has its own signs: anteromedial, posterolateral"
_POSITIONS = {"on", "to", "at", "in", "into"}
_PAIN_IN = {"full extension": "forced_extension_pain", "full flexion": "flexion_pain"}


def settle_positions(items: list[Item]) -> list[Item]:
    """Return the items in which "pain … on full extension" is no statement that the extension is full."""
    kept = list(items)
    for place, item in enumerate(items[1:], start=1):
        sound = item.tag is Tag.SIGN and isinstance(item.value, SignWord) and item.value.kind is Class.SOUND
        if _turns_foot(items, place):
            kept[place] = replace(item, tag=Tag.UNKNOWN, value=TURNED)
        noun = sound and item.value.name in _PAIN_IN and item.text.startswith("full ")
        if not noun or items[place - 1].text not in _POSITIONS:
            continue
        pain = any(_is_pain(each) for each in items[max(0, place - 3) : place])
        word = SignWord(name=_PAIN_IN[item.value.name], to=(_PAIN_IN[item.value.name],))
        kept[place] = replace(item, value=word) if pain else replace(item, tag=Tag.UNKNOWN, value=item.text)
    return kept


def _turns_foot(items: Sequence[Item], place: int) -> bool:
    """Say whether a rotation is that of the foot in a drawer test, and none of the hip."""
    word = items[place].value
    if items[place].tag is not Tag.SIGN or "hip_rotation_reduced" not in getattr(word, "to", ()):
        return False
    if "hip" in items[place].text:
        return False
    before = [item for item in items[:place] if item.tag is Tag.SIGN or item.is_break(".")]
    return bool(before) and isinstance(before[-1].value, SignWord) and before[-1].value.family == "drawer"


def _is_pain(item: Item) -> bool:
    return isinstance(item.value, SignWord) and bool(
        {"flexion_pain", "forced_extension_pain"} & set(item.value.to)
    )
