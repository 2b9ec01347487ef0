"""What is announced in passing: "I feel for warmth, and there is none" names what is told next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, item_at
from fabella.dictation.vocabulary import Class, Tag

_RESULTS = {Tag.DESCRIBING, Tag.NUMBER, Tag.RANGE}
_LEADS = {Tag.SIDE}


def name_announced(items: Sequence[Item]) -> tuple[Item, ...]:
    """Return the items in which "testing for an effusion" is the heading of a result that follows at once."""
    kept: list[Item] = []
    place = 0
    while place < len(items):
        end = _announced(items, place)
        if not end:
            kept.append(items[place])
            place += 1
            continue
        ahead = _behind_leads(items, end)
        if _is_result(items, ahead):
            kept += [*items[place + 1 : end], replace(item_at(items, end), value=":", tag=Tag.BREAK)]
            place = _behind_joints(items, end)
        else:
            kept.append(items[place])
            place += 1
    return tuple(kept)


def _announced(items: Sequence[Item], place: int) -> int:
    """Return the place of the break behind "testing for" and one sign, or 0."""
    looks = items[place].is_mark("hedge") and items[place].text.endswith(" for")
    if not looks or item_at(items, place + 1).sign is None:
        return 0
    opens = not any(item.is_mark("no", "hedge") for item in items[max(0, place - 2) : place])
    return place + 2 if opens and item_at(items, place + 2).is_break(",", ".") else 0


def _behind_joints(items: Sequence[Item], place: int) -> int:
    """Return the place behind a break and the "and" after it."""
    while place < len(items) and (items[place].is_break(",", ".") or items[place].is_mark("and")):
        place += 1
    return place


def _behind_leads(items: Sequence[Item], place: int) -> int:
    """Return the place of the first item behind a break that tells something, over the knees named."""
    place = _behind_joints(items, place)
    while place < len(items) and (items[place].tag in _LEADS or items[place].is_mark("knee", "preposition")):
        place += 1
    return place


def _is_result(items: Sequence[Item], place: int) -> bool:
    """Say whether a result without a sign of its own stands at a place."""
    item, after = item_at(items, place), item_at(items, place + 1)
    if item.is_mark("no") and after.tag in _RESULTS:
        return True  # "testing for a sag, there isn't one"
    return item.tag in _RESULTS and (after.sign is None or after.sign.kind is not Class.ILLNESS)
