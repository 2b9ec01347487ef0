"""The many uses of "no": it denies, answers, puts right, or takes back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item
from fabella.dictation.vocabulary import Describing, Tag

_REACH = 2
_TURNS = ("sorry", "scrap", "actually")


def settle_noes(items: list[Item]) -> list[Item]:
    """Return the items in which the "no" of "no, scrap that" and of "medial, no, lateral" denies nothing."""
    kept: list[Item] = []
    neither = -_REACH
    for place, item in enumerate(items):
        rest = items[place + 1 : place + 3]
        if _is_free_movement(items, place):
            kept.append(replace(item, tag=Tag.DESCRIBING, value=item.other(Tag.DESCRIBING), others=()))
        elif item.text == "nor" and item.is_mark("or") and not _joins_directions(items, place):
            kept.append(replace(item, tag=Tag.BREAK, value=",", last=item.first))
            kept.append(replace(item, value="no"))
            neither = place
        elif (
            place - neither <= _REACH and isinstance(item.value, Describing) and item.value.key == "positive"
        ):
            kept.append(replace(item, value=replace(item.value, empty=True)))
        elif _answers(items, place):
            value = Describing(key="negative", says="absent")
            kept.append(replace(item, tag=Tag.DESCRIBING, value=value, others=()))
        elif item.is_mark("no") and rest and rest[0].is_mark("like"):
            kept.append(replace(item, value="hedge"))  # "not as swollen as before"
        elif item.text != "no" or not item.is_mark("no") or not rest:
            kept.append(item)
        elif rest[0].is_mark(*_TURNS) or (rest[0].is_break(",") and rest[-1].is_mark(*_TURNS)):
            continue
        elif place and items[place - 1].is_break(",") and (rest[0].is_break(",") or _renames(items, place)):
            kept.append(replace(item, value="sorry"))
        else:
            kept.append(item)
    return kept


def _is_free_movement(items: Sequence[Item], place: int) -> bool:
    """Say whether "free" tells how something moves: "hip free", but not "hip free of pain"."""
    item = items[place]
    if item.text != "free" or item.other(Tag.DESCRIBING) is None or not place:
        return False
    moves = items[place - 1].tag is Tag.SIGN and getattr(items[place - 1].value, "group", "") == "motion"
    return moves and (place + 1 >= len(items) or items[place + 1].is_break())


def _joins_directions(items: Sequence[Item], place: int) -> bool:
    """Say whether "nor" stands between two directions: "neither varus nor valgus laxity"."""
    beside = [items[at] for at in (place - 1, place + 1) if 0 <= at < len(items)]
    return any(item.tag in {Tag.BOW, Tag.COMPARTMENT} for item in beside)


def _answers(items: Sequence[Item], place: int) -> bool:
    """Say whether a "no" is the answer to the sign before it: "locking: no", "effusion no, warmth yes"."""
    if items[place].text not in {"no", "denied"} or not items[place].is_mark("no", "denies"):
        return False
    ends = place + 1 >= len(items) or items[place + 1].is_break(",", ".")
    asked = place - 2 if place > 1 and items[place - 1].is_break(":") else place - 1
    return ends and asked >= 0 and items[asked].tag is Tag.SIGN


def _renames(items: Sequence[Item], place: int) -> bool:
    """Say whether a "no" stands between two sides: "left knee, no right knee"."""
    before = [item for item in items[max(0, place - 3) : place - 1] if not item.is_mark("knee")]
    return items[place + 1].tag is Tag.SIDE and bool(before) and before[-1].tag is Tag.SIDE


def bound_denial(items: Sequence[Item], place: int) -> int:
    """Return the place after "not positive", where the negation belongs to the describing word, else 0."""
    following = items[place + 1] if place + 1 < len(items) else None
    if (
        following is None
        or following.tag is not Tag.DESCRIBING
        or not isinstance(following.value, Describing)
    ):
        return 0
    after = items[place + 2] if place + 2 < len(items) else None
    before_sign = after is not None and after.tag in {Tag.SIGN, Tag.BOW, Tag.COMPARTMENT}
    return 0 if before_sign and items[place].text.split()[-1] != "not" else place + 2
