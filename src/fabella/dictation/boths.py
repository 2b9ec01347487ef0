"""What "both" counts: the two knees, two tests, two bends or the two sides of one knee."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, item_at, sentence_at
from fabella.dictation.vocabulary import Class, Tag

_A_PAIR = 3
_TWICE_IN_A_KNEE = ("collateral", "draw", "joint line", "menisc", "facet", "cruciate", "retinac", "condyle")
_BOTH_BENDS_DEG = (0.0, 30.0)


def count_boths(items: list[Item]) -> list[Item]:
    """Return the items in which "both" counts tests or bends and no knees: "sag and drawer both negative"."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        if _is_alike(items, place):
            kept.append(replace(item, tag=Tag.SIDE, value="both", others=()))
        elif _counts_tests(items, place):
            kept.append(replace(item, tag=Tag.MARK, value="all"))
        elif _is_at_both_bends(items, place):
            kept.append(replace(item, tag=Tag.ANGLE, value=_BOTH_BENDS_DEG, others=()))
        elif not _counts_bends(items, place):
            kept.append(item)
    return kept


def _is_alike(items: Sequence[Item], place: int) -> bool:
    """Say whether "symmetrical" names both knees of the result behind it: "drawer, symmetrical, negative"."""
    if items[place].tag is not Tag.DESCRIBING or items[place].value.key != "symmetrical":
        return False
    before, after = item_at(items, place - 1), item_at(items, place + 1)
    sentence = sentence_at(items, place)
    named = {each.value for each in sentence if each.tag is Tag.SIDE} - {"both"}
    behind = sentence[sentence.index(items[place]) + 2 :]
    told = any(each.tag in {Tag.DESCRIBING, Tag.NUMBER, Tag.RANGE} for each in behind)
    signs = any(each.tag is Tag.SIGN for each in behind)
    return before.is_break(",", ":") and after.is_break(",") and told and not named and not signs


def _is_at_both_bends(items: Sequence[Item], place: int) -> bool:
    """Say whether "at both" means the bends that were told before: "MCL 1+ at 30, 0 at 0. LCL 0 at both"."""
    item, before, following = (item_at(items, place + step) for step in (0, -1, 1))
    closes = following.is_break() or following.tag is Tag.DESCRIBING
    led = before.is_mark("preposition") and before.text in {"at", "@"}
    both = item.tag is Tag.SIDE and item.text == "both"
    return both and led and closes and any(each.tag is Tag.ANGLE for each in items[:place])


def _counts_bends(items: Sequence[Item], place: int) -> bool:
    """Say whether "both" counts bends or parts of a knee: "both at thirty and zero", "either collateral"."""
    item, following = items[place], item_at(items, place + 1)
    if item.tag is not Tag.SIDE or item.text not in {"both", "either", "each"}:
        return False
    if following.tag in {Tag.COMPARTMENT, Tag.BOW}:
        pair = items[place + 1 : place + 1 + _A_PAIR]
        return len(pair) == _A_PAIR and pair[1].is_mark("and") and pair[2].tag is following.tag
    if following.tag is Tag.ANGLE:
        return True
    return following.tag in {Tag.SIGN, Tag.SITE} and following.text.startswith(_TWICE_IN_A_KNEE)


def _counts_tests(items: Sequence[Item], place: int) -> bool:
    if items[place].tag is not Tag.SIDE or items[place].text != "both" or place + 1 >= len(items):
        return False
    if items[place + 1].tag is Tag.DESCRIBING:
        before = [item for item in items[:place] if not item.is_break(":") and not item.is_mark("knee")]
        if before and before[-1].tag is Tag.SIDE:
            return True
        tags = [item for item in items[max(0, place - 3) : place] if not item.is_mark("preposition")]
        return len(tags) == _A_PAIR and tags[0].tag is tags[2].tag is Tag.SIGN and tags[1].is_mark("and")
    pair = items[place + 1 : place + 1 + _A_PAIR]
    if len(pair) < _A_PAIR or not pair[0].tag is pair[2].tag is Tag.SIGN or not pair[1].is_mark("and"):
        return False
    seen = pair[0].sign is not None and pair[0].sign.kind is Class.ILLNESS
    return not (seen and pair[0].plural and not pair[2].plural)  # "both tubercles are prominent and tender"
