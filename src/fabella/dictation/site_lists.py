"""Lists of sites that leave something out: "tender med JL + pes", "tender over … but not over the MCL"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, item_at, reads
from fabella.dictation.vocabulary import Class, Describing, Tag

_TWO = 2
_DENIALS = ("not", "n't", "nt")


def is_site(item: Item) -> bool:
    """Say whether a word is a site itself, and not a sign that stands at one."""
    return item.tag is Tag.SITE or item.other(Tag.SITE) is not None


def join_by_plus(items: Sequence[Item]) -> list[Item]:
    """Return the items in which the plus of "TTP med JL + pes" joins two sites, and is no result."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        beside = [item_at(items, place + step) for step in (-1, 1)]
        plus = isinstance(item.value, Describing) and item.last == item.first + 1 and not item.text
        if plus and item.value.key == "positive" and all(map(is_site, beside)) and _listed(items, place):
            kept.append(replace(item, tag=Tag.MARK, value="and", text="and"))
        else:
            kept.append(item)
    return kept


def _listed(items: Sequence[Item], plus: int) -> bool:
    """Say whether "tender" stands before the sites that a plus joins, and no result behind the last."""
    at = plus - 1
    while at >= 0 and (is_site(items[at]) or items[at].tag is Tag.SIDE or items[at].is_mark("preposition")):
        at -= 1
    return at >= 0 and reads(items[at], "tenderness") and item_at(items, plus + 2).is_break()


def say_again(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "… but not over the MCL" says "tender" again, which it left out."""
    kept: list[Item] = []
    tender: Item | None = None
    for place, item in enumerate(items):
        if item.tag is Tag.SIGN and item.other(Tag.SITE) is None:
            tender = item if reads(item, "tenderness") else None
        elif item.is_break("."):
            tender = None
        kept.append(item)
        if tender is not None and tender.value.kind is not Class.SOUND and _leaves_out_tender(items, place):
            kept.append(replace(tender, first=item.last, last=item.last, others=()))
        elif tender is not None and _denies_a_site(items, place):
            at = items[place + 1].first
            sound = tender.value.kind is Class.SOUND  # "not tender over …, and not over …"
            kept[len(kept) - sound :] = [
                replace(tender, first=item.first if sound else at, last=at, others=())
            ]
    return kept


def _denies_a_site(items: Sequence[Item], place: int) -> bool:
    """Say whether "not" stands behind a break and before a site of which nothing else is said."""
    if place == 0 or not items[place].is_mark("no") or not items[place].text.endswith("not"):
        return False
    at = place + 1 + item_at(items, place + 1).is_mark("preposition")
    before, after = items[place - 1], item_at(items, at + 1)
    parted = before.is_mark("but", "and") or before.is_break(",") or is_site(before)
    ends = after.is_break() or after.is_mark("and", "or", "but", "preposition")
    return parted and is_site(item_at(items, at)) and ends


def _leaves_out_tender(items: Sequence[Item], place: int) -> bool:
    """Say whether "not" closes what it denies of a site behind a tender one: "MCL tender, LCL not"."""
    if place < _TWO or not items[place].is_mark("no") or not items[place].text.endswith(_DENIALS):
        return False
    site, parted, after = items[place - 1], items[place - 2], item_at(items, place + 1)
    if parted.tag is Tag.SIDE:
        parted = item_at(items, place - 3)
    ends = after.is_break() or after.is_mark("and", "or", "but")
    return is_site(site) and (parted.is_mark("but", "and") or parted.is_break(",")) and ends
