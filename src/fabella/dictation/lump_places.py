"""Where a lump lies: "over the fibular head", "on the inner side of the lower thigh", "above the condyle"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.dictation.items import Item
from fabella.dictation.lump_words import lump_word
from fabella.dictation.vocabulary import Tag

_LEADS = ("behind ", "at ", "on ", "over ", "in ", "under ", "above ", "around ")


@dataclass(frozen=True, slots=True, kw_only=True)
class LumpPlace:
    """A place in words: the items that tell it, the sites among them, and where it ends."""

    own: tuple[int, ...]
    sites: tuple[str, ...]
    end: int
    elsewhere: bool = False


def place_at(items: Sequence[Item], at: int, *, parted: bool) -> LumpPlace | None:
    """Return the place that begins here; behind a break only if a preposition leads to it."""
    own: list[int] = []
    sites: list[str] = []
    beside = elsewhere = False
    end = at
    while (core := _core_at(items, end)) is not None:
        leads = items[end:core]
        led = bool(leads) or items[core].text.startswith(_LEADS) or items[core].text.endswith("ly")
        if not own and parted and not led:
            return None
        if items[core].is_mark("knee") and not leads:
            break
        beside = beside or any(_is_beside(item) for item in leads) or _is_next_to(items, end)
        elsewhere = elsewhere or (items[core].is_mark("elsewhere") and lump_word(items[core]) is None)
        own += [each for each in range(end, core + 1) if items[each].tag is not Tag.SIDE]
        sites += _sites_of(items[core])
        end = core + 1
    if not own or (parted and end < len(items) and items[end].tag is Tag.SIGN):
        return None
    return LumpPlace(own=tuple(own), sites=() if beside else tuple(sites), end=end, elsewhere=elsewhere)


def place_before(items: Sequence[Item], at: int) -> LumpPlace | None:
    """Return the place right in front of a lump, if it can be meant for nothing else: "joint line lump"."""
    colon = at > 0 and items[at].is_break(":")
    core = at - colon
    if core < 0 or not _is_core(items[core]) or items[core].tag is Tag.SIGN or items[core].is_mark("knee"):
        return None
    before = items[core - 1] if core else None
    free = before is None or before.is_break() or before.tag in {Tag.SIDE, Tag.DESCRIBING}
    if not free and before is not None and not before.is_mark("no", "and", "but", "denies"):
        return None
    elsewhere = items[core].is_mark("elsewhere") and lump_word(items[core]) is None
    own = (core, at) if colon else (core,)
    return LumpPlace(own=own, sites=tuple(_sites_of(items[core])), end=at + 1, elsewhere=elsewhere)


def _core_at(items: Sequence[Item], at: int) -> int | None:
    """Return where the site itself stands, behind a preposition, a "beside" and a side; or None."""
    core = at
    while core < len(items) and (items[core].is_mark("preposition") or _is_beside(items[core])):
        core += 1
    if core + 1 < len(items) and items[core].tag is Tag.SIDE and not items[core + 1].is_mark("knee"):
        core += 1
    if core >= len(items) or not _is_core(items[core]):
        return None
    if core > at or items[core].tag is not Tag.SIGN:
        return core
    goes_on = core + 1 < len(items) and _is_core(items[core + 1]) and items[core + 1].tag is not Tag.SIGN
    return core if goes_on else None  # "medial side, lower thigh", but not "medial side stable"


def _is_core(item: Item) -> bool:
    word = lump_word(item)
    named = item.tag in {Tag.SITE, Tag.COMPARTMENT} or item.is_mark("elsewhere", "knee")
    other = item.other(Tag.SITE) or item.other(Tag.COMPARTMENT)
    return named or (word is not None and word.kind == "place") or other is not None


def _is_beside(item: Item) -> bool:
    word = lump_word(item)
    return word is not None and word.kind == "beside"


def _is_next_to(items: Sequence[Item], at: int) -> bool:
    """Say whether "to" follows a compartment: "lateral to the patella" is not at the patella."""
    return at > 0 and items[at - 1].tag is Tag.COMPARTMENT and items[at].text == "to"


def _sites_of(item: Item) -> list[str]:
    site = item.value if item.tag is Tag.SITE else item.other(Tag.SITE)
    return str(site).split() if site else []
