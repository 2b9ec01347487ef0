"""Words around a lump: lengths, doubt, bounds, and whether they can be meant for a sign behind them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, Stretch, reads
from fabella.dictation.nodes import Mod
from fabella.dictation.vocabulary import Describing, LumpWord, Tag

_LENGTHS = {"cm", "mm"}
_BOUNDS = {"over", "under"}
_BOUNDED = "how much exactly?"
_DOUBTED = "it was said with doubt"


def lump_word(item: Item) -> LumpWord | None:
    """Return what an item says of a lump, also where it may say something else."""
    word = item.value if item.tag is Tag.LUMP else item.other(Tag.LUMP)
    return word if isinstance(word, LumpWord) else None


def kind_of(mod: Mod | None) -> str:
    """Return what a detail tells of a lump: size, feel, beat and so on, or nothing."""
    if mod is None or mod.item.tag is Tag.NUMBER:
        return "" if mod is None else "size"
    word = lump_word(mod.item)
    return "" if word is None else word.kind


def is_tender(item: Item) -> bool:
    """Say whether an item tells of tenderness."""
    return reads(item, "tenderness")


def is_length(item: Item) -> bool:
    """Say whether an item is a number with a unit of length."""
    return isinstance(item.value, Quantity) and item.value.unit in _LENGTHS


def is_degree(item: Item) -> bool:
    """Say whether an item tells how much, that it hurts or that it is there: "large", "palpable"."""
    said = item.value
    if not isinstance(said, Describing) or lump_word(item) is not None:
        return False
    return said.degree is not None or said.says == "present" or bool(said.pain)


def is_size_before(items: Sequence[Item], at: int, *, parted: bool) -> bool:
    """Say whether a length in front of a lump can be no other sign's: not "scar 8 cm, hard lump"."""
    if not is_length(items[at]):
        return False
    before = items[at - 1] if at else None
    free = before is None or before.is_break() or before.tag in {Tag.SIDE, Tag.DESCRIBING, Tag.LUMP}
    if before is not None and not free and not before.is_mark("no", "knee", "and", "but", "denies"):
        return False
    begins = max((place for place in range(at) if items[place].is_break(".")), default=-1)
    return not parted or all(item.tag is not Tag.SIGN for item in items[begins + 1 : at])


def said_open(items: Sequence[Item], at: int) -> tuple[int, str] | None:
    """Return the end of what cannot be taken as it was said, and why: doubt, a bound, a stretch; or None."""
    item = items[at]
    if isinstance(item.value, Stretch) and item.value.unit in _LENGTHS:
        return at + 1, _BOUNDED
    if at + 1 >= len(items):
        return None
    following = items[at + 1]
    word = lump_word(following)
    if is_length(following) and (item.is_mark("than") or item.text in _BOUNDS):
        return at + 2, _BOUNDED
    hedged = item.is_mark("hedge") and (word is not None or is_length(following))
    little = is_degree(item) and item.value.degree == 1 and word is not None and word.says == "absent"
    return (at + 2, _DOUBTED) if hedged or little else None


def ends_before_sign(items: Sequence[Item], end: int, *, parted: bool) -> bool:
    """Say whether what ends here may be said of what follows: "lump, soft calf", "lump, 8 cm scar"."""
    if end >= len(items):
        return False
    following = items[end]
    if reads(following, "lump"):
        return True
    meant = following.tag in {Tag.SIGN, Tag.BOW, Tag.SIDE, Tag.ANGLE, Tag.RANGE}
    return parted and meant and not is_tender(following)


def opened(items: Sequence[Item], at: int, end: int, why: str) -> Item:
    """Return words that must be asked about; without a text they cast no doubt on what stands beside."""
    return replace(
        items[at], tag=Tag.UNKNOWN, value=why, last=items[end - 1].last, text="", others=(), plural=False
    )
