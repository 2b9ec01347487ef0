"""The many uses of "no": it denies, answers, puts right, or takes back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, item_at
from fabella.dictation.vocabulary import Describing, Tag

_REACH = 2
_ABSENT = Describing(key="negative", says="absent")
_PAINLESS = Describing(key="painless", pain="absent")
_ENDED = {"no longer", "no more"}
_TURNS = ("sorry", "scrap", "actually")


def settle_noes(items: list[Item]) -> list[Item]:
    """Return the items in which the "no" of "no, scrap that" and of "medial, no, lateral" denies nothing."""
    kept: list[Item] = []
    neither = -_REACH
    for place, item in enumerate(items):
        if kept and kept[-1].is_mark("no") and _is_painless(items, place):
            kept[-1] = replace(item, tag=Tag.DESCRIBING, value=_PAINLESS, first=kept[-1].first, others=())
        elif item.text == "nor" and item.is_mark("or") and not _joins_directions(items, place):
            kept.append(replace(item, tag=Tag.BREAK, value=",", last=item.first))
            kept.append(replace(item, value="no"))
            neither = place
        elif place - neither <= _REACH and _is_positive(item):
            kept.append(replace(item, value=replace(item.value, empty=True)))
        elif not _is_taken_back(items, place):
            kept.append(_settled(items, place))
    return kept


def _is_painless(items: Sequence[Item], place: int) -> bool:
    """Say whether "no pain" closes a clause behind a movement, and tells of it: "rotates freely, no pain"."""
    if items[place].tag is not Tag.REASON or items[place].value != "pain" or items[place - 1].text != "no":
        return False
    before = item_at(items, place - 2)
    parted = before.is_break(",") or before.is_mark("and")
    start = next((at for at in range(place, -1, -1) if items[at].is_break(".")), 0)
    moved = next((each.sign for each in reversed(items[start:place]) if each.sign is not None), None)
    ends = item_at(items, place + 1).is_break()
    if not (parted and ends) or moved is None or moved.group != "motion":
        return False
    return bool(moved.pain) or "hip" in moved.name


def _is_positive(item: Item) -> bool:
    return isinstance(item.value, Describing) and item.value.key == "positive"


def _is_plain_no(item: Item) -> bool:
    return item.text == "no" and item.is_mark("no")


def _is_taken_back(items: Sequence[Item], place: int) -> bool:
    """Say whether a "no" only leads to "sorry" or "scrap that", over a comma or not."""
    ahead = place + 1 + item_at(items, place + 1).is_break(",")
    return (
        _is_plain_no(items[place]) and not _answers(items, place) and item_at(items, ahead).is_mark(*_TURNS)
    )


def _settled(items: Sequence[Item], place: int) -> Item:
    """Return a "no" as what it is: a result, a doubt, a correction or a denial."""
    item, after = items[place], item_at(items, place + 1)
    if _is_free_movement(items, place):
        return replace(item, tag=Tag.DESCRIBING, value=item.other(Tag.DESCRIBING), others=())
    if _answers(items, place):
        return replace(item, tag=Tag.DESCRIBING, value=_ABSENT, others=())
    if _chooses_a_side(items, place) or (item.is_mark("no") and after.is_mark("like")):
        return replace(item, value="hedge")  # "not as swollen as before"
    parted = _is_plain_no(item) and item_at(items, place - 1).is_break(",")
    renames = parted and (after.is_break(",") or _renames(items, place))
    renames = renames or (_is_plain_no(item) and _says_anew(items, place))
    return replace(item, value="sorry") if renames else item


def _is_free_movement(items: Sequence[Item], place: int) -> bool:
    """Say whether "free" tells how something moves: "hip free", but not "hip free of pain"."""
    item = items[place]
    if item.text != "free" or item.other(Tag.DESCRIBING) is None:
        return False
    before, after = item_at(items, place - 1), item_at(items, place + 1)
    moved = item_at(items, place - 2).sign if before.is_break(",", ":") else before.sign
    ends = after.is_break() or after.tag is Tag.SIDE
    ends = ends or (after.is_mark("preposition") and item_at(items, place + 2).tag is Tag.SIDE)
    return moved is not None and moved.group == "motion" and ends


def _joins_directions(items: Sequence[Item], place: int) -> bool:
    """Say whether "nor" stands between two directions: "neither varus nor valgus laxity"."""
    return any(item_at(items, at).tag in {Tag.BOW, Tag.COMPARTMENT} for at in (place - 1, place + 1))


def _answers(items: Sequence[Item], place: int) -> bool:
    """Say whether a "no" is the answer to the sign before it: "locking: no", "effusion no, warmth yes"."""
    if items[place].text in _ENDED:
        return _is_told_before(items, place)
    if items[place].text not in {"no", "denied"} or not items[place].is_mark("no", "denies"):
        return False
    asked = place - 1 - item_at(items, place - 1).is_break(":")
    return item_at(items, place + 1).is_break(",", ".") and item_at(items, asked).tag is Tag.SIGN


def _is_told_before(items: Sequence[Item], place: int) -> bool:
    """Say whether "no longer" closes what it denies: "gives way no longer"."""
    after = item_at(items, place + 1)
    ends = after.is_break() or after.is_mark("but", "and") or after.tag is Tag.SIDE
    return items[place].is_mark("no") and ends and item_at(items, place - 1).tag in {Tag.SIGN, Tag.SITE}


def _chooses_a_side(items: Sequence[Item], place: int) -> bool:
    """Say whether a "not" only tells of which knee a sign is: "the left, not the right, has an effusion"."""
    if not items[place].is_mark("no") or items[place].text != "not":
        return False
    start = max((at + 1 for at in range(place) if items[at].is_break(".")), default=0)
    before = [each for each in items[start:place] if not each.is_mark("knee", "preposition", "but", "and")]
    before = [each for each in before if not each.is_break(",")]
    ahead = place + 1 + item_at(items, place + 1).is_mark("preposition")
    behind = ahead + 1 + item_at(items, ahead + 1).is_mark("knee")
    if not before and item_at(items, behind).is_break("."):
        return False  # "Crepitus on the left. Not on the right."
    return all(each.tag is Tag.SIDE for each in before) and item_at(items, ahead).tag is Tag.SIDE


def _says_anew(items: Sequence[Item], place: int) -> bool:
    """Say whether a sentence opens with "no" and another result alone: "No, 2+"."""
    result, end = item_at(items, place + 2), item_at(items, place + 3)
    told = result.tag is Tag.NUMBER or (isinstance(result.value, Describing) and result.value.says != "")
    opened = place > 0 and items[place - 1].is_break(".") and item_at(items, place + 1).is_break(",")
    return opened and told and end.is_break()


def _renames(items: Sequence[Item], place: int) -> bool:
    """Say whether a "no" stands between two sides: "left knee, no right knee"."""
    before = [item for item in items[max(0, place - 3) : place - 1] if not item.is_mark("knee")]
    return bool(before) and before[-1].tag is item_at(items, place + 1).tag is Tag.SIDE


def bound_denial(items: Sequence[Item], place: int) -> int:
    """Return the place after "not positive", where the negation belongs to the describing word, else 0."""
    if item_at(items, place + 1).tag is not Tag.DESCRIBING:
        return 0
    before_sign = item_at(items, place + 2).tag in {Tag.SIGN, Tag.BOW, Tag.COMPARTMENT}
    return 0 if before_sign and items[place].text.split()[-1] != "not" else place + 2
