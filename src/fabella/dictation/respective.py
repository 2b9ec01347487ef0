"""Two knees and two results in one order: "right and left knees flex to 130 and 110 respectively"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, item_at
from fabella.dictation.vocabulary import Describing, Tag

_ORDERS = {"right and left": ("right", "left"), "left and right": ("left", "right")}
_SAYS_SO = "respectively"
_RESULTS = ("positive", "negative")


def share_respectively(items: Sequence[Item]) -> list[Item]:
    """Return the items in which each of two sides stands before its own of two results.

    Where "respectively" is said and it is not plain what is whose, the knees are doubtful.
    """
    kept: list[Item] = []
    start = 0
    for place in range(len(items) + 1):
        if place == len(items) or items[place].is_break("."):
            kept.extend(_sentence(items[start : place + 1]))
            start = place + 1
    return kept


def _sentence(items: Sequence[Item]) -> list[Item]:
    sides = [at for at, item in enumerate(items) if item.tag is Tag.SIDE]
    order = _ORDERS.get(items[sides[0]].text) if len(sides) == 1 else None
    if order is None:
        return list(items)
    pairs = [at for at in range(1, len(items) - 1) if _is_pair(items, at)]
    if len(pairs) != 1:
        said = any(item.text == _SAYS_SO for item in items)
        return [_doubted(item) for item in items] if said else list(items)
    named, joint = items[sides[0]], items[pairs[0]]
    first = replace(named, value=order[0], text=order[0], last=named.first)
    second = replace(named, value=order[1], text=order[1])
    comma = replace(joint, tag=Tag.BREAK, value=",", text=",", others=())
    silent = {sides[0]} | ({sides[0] + 1} if item_at(items, sides[0] + 1).is_mark("knee") else set())
    kept = [item for at, item in enumerate(items) if at not in silent and item.text != _SAYS_SO]
    at = next(at for at, item in enumerate(kept) if item is joint)
    return [*kept[: at - 1], first, kept[at - 1], comma, second, *kept[at + 1 :]]


def _is_pair(items: Sequence[Item], joint: int) -> bool:
    """Say whether "and" joins two results of one kind: two numbers, two ranges, two grades."""
    if not items[joint].is_mark("and"):
        return False
    kinds = [_kind(items[at]) for at in (joint - 1, joint + 1)]
    return bool(kinds[0]) and kinds[0] == kinds[1]


def _kind(item: Item) -> str:
    value = item.value
    if item.tag is Tag.RANGE:
        return "range"
    if isinstance(value, Quantity):
        return "grade" if value.value <= 1 and not value.unit else "number"
    graded = isinstance(value, Describing) and (value.grade is not None or value.key in _RESULTS)
    return "grade" if graded else ""


def _doubted(item: Item) -> Item:
    return replace(item, value="") if item.tag is Tag.SIDE else item
