"""Bends of the knee before parsing: degrees beside a stress or dial test are where it was done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.differences import is_difference
from fabella.dictation.items import Item, Quantity, item_at, reads
from fabella.dictation.stress import is_stress
from fabella.dictation.vocabulary import Describing, Tag

_BENDS_DEG = {0, 20, 25, 30, 90}


def find_bends(items: list[Item]) -> list[Item]:
    """Return the items in which degrees beside a stress or dial test are the bend at which it was done."""
    kept = list(items)
    for place, item in enumerate(items):
        if not isinstance(item.value, Quantity):
            continue
        if _goes_on_from_bend(items, place):
            kept[place] = replace(item, tag=Tag.ANGLE, value=(item.value.value,))
            continue
        if not _is_bent_test(items, place) or is_difference(items, place):
            continue
        graded = item_at(items, place + 1).tag is Tag.DESCRIBING or _is_told_of_a_side(items, place + 1)
        if item.value.unit == "deg" or (not item.value.unit and graded and item.value.value in _BENDS_DEG):
            kept[place] = replace(item, tag=Tag.ANGLE, value=(item.value.value,))
    return kept


def _is_told_of_a_side(items: Sequence[Item], place: int) -> bool:
    """Say whether a side and its grade follow: "varus 30 R 0"."""
    grade = item_at(items, place + 1)
    told = grade.tag is Tag.DESCRIBING or (isinstance(grade.value, Quantity) and not grade.value.unit)
    return item_at(items, place).tag is Tag.SIDE and told


def join_repeated_bends(items: Sequence[Item]) -> list[Item]:
    """Return the items with a bend told again with how much as one: "opens at 30, medially grade 1 at 30"."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        opens = bool(kept) and is_stress(kept[-1]) and item.tag is Tag.ANGLE
        if opens and set(item.value) <= set(_bends_after(items, place + 1)):
            kept[-1] = replace(kept[-1], last=item.last)
        else:
            kept.append(item)
    return kept


def part_bends(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "8 mm at 30, and at 0 stable" tells of two bends, each with its result."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        if item.is_mark("and") and _has_own_result(items, place + 1) and _is_graded(items, place):
            if not kept[-1].is_break(","):
                kept.append(replace(item, tag=Tag.BREAK, value=",", text=","))
        else:
            kept.append(item)
    return kept


def _has_own_result(items: Sequence[Item], place: int) -> bool:
    """Say whether a bend and one result stand alone up to the end of their clause."""
    place += item_at(items, place).is_mark("preposition")
    result, end = item_at(items, place + 1), item_at(items, place + 2)
    told = isinstance(result.value, Describing) and bool(result.value.says)
    return item_at(items, place).tag is Tag.ANGLE and told and end.is_break()


def _is_graded(items: Sequence[Item], place: int) -> bool:
    """Say whether a result with its bend stands before a place, over a comma, behind the sign of its test."""
    at = place - 1 - item_at(items, place - 1).is_break(",")
    if item_at(items, at).tag is not Tag.ANGLE:
        return False
    while at >= 0 and not items[at].is_break() and items[at].tag is not Tag.SIGN:
        at -= 1
    between = items[at + 1 : place]
    return any(isinstance(each.value, Quantity | Describing) for each in between)


def _bends_after(items: Sequence[Item], place: int) -> tuple[float, ...]:
    """Return the bends at which a grade is told behind a place; none where anything else comes before."""
    graded = False
    for item in items[place:]:
        if item.tag is Tag.ANGLE:
            return tuple(item.value) if graded else ()
        described = isinstance(item.value, Describing) and (item.value.grade or item.value.degree)
        graded = graded or bool(described) or item.tag is Tag.NUMBER
        if not (described or item.tag in {Tag.COMPARTMENT, Tag.BOW, Tag.NUMBER} or _joins_places(item)):
            return ()
    return ()


def _joins_places(item: Item) -> bool:
    return item.is_mark("and", "or", "preposition") or item.is_break(",", ":")


def _goes_on_from_bend(items: Sequence[Item], place: int) -> bool:
    """Say whether a number is the second of two bends: "in extension and 30"."""
    bent = place > 1 and items[place - 1].is_mark("and", "or") and items[place - 2].tag is Tag.ANGLE
    return bent and items[place].value.unit in {"", "deg"} and items[place].value.value in _BENDS_DEG


def _is_bent_test(items: Sequence[Item], place: int) -> bool:
    before = place - 1
    while before >= 0 and items[before].tag in {Tag.COMPARTMENT, Tag.BOW, Tag.ANGLE}:
        before -= 1
    return before >= 0 and (is_stress(items[before]) or reads(items[before], "dial"))
