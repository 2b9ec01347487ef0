"""Where a lump lies: "over the fibular head", "on the inner side of the lower thigh", "above the condyle"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fabella.dictation.items import Item, item_at
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
    cores = list(_cores(items, at))
    if not cores or (parted and not _is_led_to(items, *cores[0])):
        return None
    end = cores[-1][1] + 1
    if parted and item_at(items, end).tag is Tag.SIGN:
        return None
    leads = [items[each] for start, core in cores for each in range(start, core)]
    beside = any(map(_is_beside, leads)) or any(_is_next_to(items, start) for start, _ in cores)
    sites = () if beside else tuple(site for _, core in cores for site in _sites_of(items[core]))
    own = tuple(each for each in range(at, end) if items[each].tag is not Tag.SIDE)
    return LumpPlace(
        own=own, sites=sites, end=end, elsewhere=any(_is_elsewhere(items[core]) for _, core in cores)
    )


def _cores(items: Sequence[Item], at: int) -> Iterator[tuple[int, int]]:
    """Yield where the parts of a place begin and where their site stands, up to a knee that only is named."""
    while (core := _core_at(items, at)) is not None and not (core == at and items[core].is_mark("knee")):
        yield at, core
        at = core + 1


def _is_led_to(items: Sequence[Item], start: int, core: int) -> bool:
    """Say whether a preposition leads to a site, as a word of its own or not: "over", "medially"."""
    return core > start or items[core].text.startswith(_LEADS) or items[core].text.endswith("ly")


def _is_elsewhere(item: Item) -> bool:
    return item.is_mark("elsewhere") and lump_word(item) is None


def place_before(items: Sequence[Item], at: int) -> LumpPlace | None:
    """Return the place right in front of a lump, if it can be meant for nothing else: "joint line lump"."""
    headed = items[at].tag is Tag.SIDE and item_at(items, at - 1).is_break(":")
    at -= headed  # "popliteal fossa: R lump"
    colon = at > 0 and items[at].is_break(":")
    core = at - colon
    if core < 0 or not _is_core(items[core]) or items[core].tag is Tag.SIGN or items[core].is_mark("knee"):
        return None
    before = items[core - 1] if core else None
    free = before is None or before.is_break() or before.tag in {Tag.SIDE, Tag.DESCRIBING}
    if not free and before is not None and not before.is_mark("no", "and", "but", "denies"):
        return None
    own = (core, at) if colon else (core,)
    return LumpPlace(
        own=own, sites=tuple(_sites_of(items[core])), end=at + 1, elsewhere=_is_elsewhere(items[core])
    )


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
