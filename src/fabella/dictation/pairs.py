"""Sides named in pairs: "on the left and on the right", "Lachman right/left 2+/0"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, is_knee
from fabella.dictation.vocabulary import Tag

_KNEES = {"right", "left"}
_RESULTS = {Tag.DESCRIBING, Tag.NUMBER, Tag.RANGE}
_PAIR = 3


def join_pairs(items: Sequence[Item]) -> list[Item]:
    """Return the items with each pair of sides as both knees, as one side a result, or as doubtful."""
    kept: list[Item] = []
    place = 0
    while place < len(items):
        if (pair := _slashed(items, place)) is not None:
            place = _share_out(kept, items, place, pair)
        elif (end := _both_named(items, place)) and _closes(items, end):
            kept.append(replace(items[place], value="both", last=items[end - 1].last))
            place = end
        elif _parts_knees(items, place):
            kept.append(replace(items[place], value=","))
            place += 1
        else:
            kept.append(_doubted(items, place))
            place += 1
    return kept


def _parts_knees(items: Sequence[Item], place: int) -> bool:
    """Say whether a slash parts the results of two knees: "R 3+ soft / L 1+ firm"."""
    if not items[place].is_break("/") or not 0 < place < len(items) - 1:
        return False
    return is_knee(items[place + 1]) and not is_knee(items[place - 1])


# ------------------------------------------------------------------ "right/left 2+/0"


def _slashed(items: Sequence[Item], place: int) -> tuple[Item, Item] | None:
    """Return the two sides of "right/left", or None."""
    row = items[place : place + _PAIR]
    if len(row) < _PAIR or not row[1].is_break("/") or not all(is_knee(each) for each in row[::2]):
        return None
    return (row[0], row[2]) if row[0].value != row[2].value else None


def _share_out(kept: list[Item], items: Sequence[Item], place: int, pair: tuple[Item, Item]) -> int:
    """Add each side with its result, and return the place after; sides without results are doubtful."""
    after = place + _PAIR
    while after < len(items) and items[after].is_break(":"):
        after += 1
    if _are_results(ahead := items[after : after + _PAIR]):
        kept.extend(_sided(pair, ahead))
        return after + _PAIR
    if _are_results(behind := kept[-_PAIR:]):
        kept[-_PAIR:] = _sided(pair, behind)
        return place + _PAIR
    kept.append(replace(pair[0], value="", last=pair[1].last))
    return place + _PAIR


def _are_results(row: Sequence[Item]) -> bool:
    return len(row) == _PAIR and row[1].is_break("/") and row[0].tag in _RESULTS and row[2].tag in _RESULTS


def _sided(pair: tuple[Item, Item], results: Sequence[Item]) -> list[Item]:
    comma = replace(results[1], value=",")
    return [pair[0], results[0], comma, pair[1], results[2]]


# ------------------------------------------------------------------ "on the left and on the right"


def _both_named(items: Sequence[Item], place: int) -> int:
    """Return the place after two sides that "and" or "or" joins, or 0."""
    if not is_knee(items[place]):
        return 0
    at = _after_knee(items, place + 1)
    while at < len(items) and items[at].is_break(","):
        at += 1
    if at >= len(items) or not items[at].is_mark("and", "or"):
        return 0
    at += 1
    if at < len(items) and items[at].is_mark("preposition"):
        at += 1
    if at >= len(items) or not is_knee(items[at]) or items[at].value == items[place].value:
        return 0
    return _after_knee(items, at + 1)


def _after_knee(items: Sequence[Item], place: int) -> int:
    return place + 1 if place < len(items) and items[place].is_mark("knee") else place


def _closes(items: Sequence[Item], place: int) -> bool:
    return place >= len(items) or items[place].is_break(".", ",") or items[place].is_mark("but")


def _doubted(items: Sequence[Item], place: int) -> Item:
    """Return "left and right" as doubtful between two signs: "effusion left and right Lachman positive"."""
    item = items[place]
    if item.tag is not Tag.SIDE or not set(item.text.split()) >= _KNEES:
        return item
    behind = (
        place > 0 and not items[place - 1].is_break() and not items[place - 1].is_mark("and", "or", "but")
    )
    ahead = place + 1 < len(items) and items[place + 1].tag in {Tag.SIGN, Tag.SITE, Tag.BOW, Tag.COMPARTMENT}
    return replace(item, value="") if behind and ahead else item
