"""What is affirmed behind a denial: "denies locking, reports giving way" denies one of them only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item
from fabella.dictation.vocabulary import Tag
from fabella.dictation.words import Word

_AFFIRMING = {
    "has", "have", "had", "gets", "got", "does", "do", "did", "reports", "reported", "describes", "described",
    "complains", "complained", "notes", "noted", "noticed", "mentions", "feels", "is",
}  # fmt: skip
_TELLING = {Tag.SIGN, Tag.SITE}


def part_affirmed(items: Sequence[Item], words: Sequence[Word]) -> tuple[Item, ...]:
    """Return the items in which a verb that affirms what follows it ends the reach of a "no" before it."""
    kept = list(items)
    denied = False
    for place, item in enumerate(items):
        if item.is_break("."):
            denied = False
        denied = denied or item.is_mark("no", "denies")
        parts = item.is_break(",") or (item.is_mark("and") and item.text != "which")
        if denied and parts and _affirms(items, place, words):
            kept[place] = replace(item, tag=Tag.MARK, value="but", text="but", others=())
            denied = False
    return tuple(kept)


def _affirms(items: Sequence[Item], place: int, words: Sequence[Word]) -> bool:
    """Say whether the first word behind a break affirms, and no denial stands before what it tells."""
    start = items[place].last
    if start >= len(words) or words[start].text not in _AFFIRMING:
        return False
    for item in items[place + 1 :]:
        if item.tag in _TELLING:
            return True
        if item.is_break() or item.is_mark("no", "denies", "cannot", "not_done", "hedge"):
            return False
    return False
