"""Items that only together say something: numbers in a row, "held in 20 degrees"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, Stretch, item_at, reads
from fabella.dictation.vocabulary import SignWord, Tag

_FIRST_AT_MOST_DEG = 30.0
_LAST_AT_LEAST_DEG = 60.0
_BENT_DEG = 5.0
"""Two numbers behind "range" are its ends only where no other reading is possible: a judgement."""
_FLEXED = {"flexed", "bent"}


def join_rows(items: Sequence[Item]) -> list[Item]:
    """Return the items with those that only together say something as one."""
    return _numbers(_held(items))


def _numbers(items: Sequence[Item]) -> list[Item]:
    """Return the items with bare numbers in a row as a range, or as something doubtful."""
    kept: list[Item] = []
    place = 0
    while place < len(items):
        row = _row(items, place)
        if len(row) == 1:
            kept.append(items[place])
        else:
            kept.append(_together(kept[-1] if kept else None, row))
        place += len(row)
    return kept


def _row(items: Sequence[Item], place: int) -> list[Item]:
    row = [items[place]]
    while _is_number(row[-1], units={""}) and place + len(row) < len(items):
        following = items[place + len(row)]
        if not _is_number(following, units={"", "deg"}) or following.first != row[-1].last:
            break
        row.append(following)
    return row


def _together(before: Item | None, row: Sequence[Item]) -> Item:
    first, last = row[0], row[-1]
    low, high = first.value.value, last.value.value
    ends = 0 <= low <= _FIRST_AT_MOST_DEG and high >= _LAST_AT_LEAST_DEG
    if before is not None and reads(before, "range") and ends and len(row) == len((first, last)):
        stretch = Stretch(low=low, high=high, unit=last.value.unit)
        return replace(first, tag=Tag.RANGE, value=stretch, last=last.last)
    text = " ".join(each.text for each in row)
    return replace(first, tag=Tag.MARK, value="hedge", last=last.last, text=text)


def _is_number(item: Item, *, units: set[str]) -> bool:
    value = item.value
    return (
        item.tag is Tag.NUMBER
        and isinstance(value, Quantity)
        and value.out_of is None
        and value.unit in units
    )


def _held(items: Sequence[Item]) -> list[Item]:
    """Return the items with "held in twenty degrees of flexion" as one sign, and "flexed 20" as its bend."""
    kept: list[Item] = []
    for item in items:
        before = item_at(kept, len(kept) - 1)
        if before.text in _FLEXED and (bend := _bend_deg(item)) and _follows_hold(kept[:-1]):
            kept[-1] = replace(item, tag=Tag.ANGLE, value=bend, first=before.first, others=())
        elif (
            before.tag is Tag.UNKNOWN
            and before.text == "held"
            and item.tag is Tag.ANGLE
            and min(item.value) >= _BENT_DEG
        ):
            word = SignWord(name="held in flexion", to=("held_flexed",))
            kept[-1] = replace(before, tag=Tag.SIGN, value=word, last=item.last)
        else:
            kept.append(item)
    return kept


def _follows_hold(before: Sequence[Item]) -> bool:
    """Say whether "holding the knee" stands last, or "holding the left knee"."""
    named = (item for item in reversed(before) if item.tag is not Tag.SIDE and not item.is_mark("knee"))
    return reads(next(named, item_at(before, -1)), "held")


def _bend_deg(item: Item) -> tuple[float, ...]:
    """Return the bend of a knee that an item tells, also as a bare number; nothing where it tells none."""
    if item.tag is Tag.ANGLE:
        return tuple(item.value)
    return (item.value.value,) if _is_number(item, units={"", "deg"}) else ()
