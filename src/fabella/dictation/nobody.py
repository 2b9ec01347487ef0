"""That nobody complains: said in so many words, or by what the examination is for."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.items import Item, is_knee, item_at
from fabella.dictation.vocabulary import Tag

NOBODY = ("nobody", "")
"""What "no complaints" means besides a no, and "asymptomatic" besides the sound side."""
COMPLAINT = ("complaint", "")
"""What "complains of" means, and "painful" besides how something is."""
OCCASION = "occasion"
"""What the examination is for, where people come without a complaint: fitness, screening, teaching."""


def nobody_complains(items: Sequence[Item], place: int) -> bool:
    """Say whether an item says of both knees that they give no trouble, and denies nothing else.

    "No complaints of locking" is a no, "left knee asymptomatic" is said of one knee.
    """
    if items[place].other(Tag.PERSON) != NOBODY:
        return False
    end = _after_both_knees(items, place + 1)
    after = item_at(items, end)
    if not after.is_break() or (not after.is_break(".") and _goes_on(items, end + 1)):
        return False
    start = next((at for at in range(place, 0, -1) if items[at - 1].is_break()), 0)
    return not any(is_knee(item) for item in items[start:place])


def tells_of_trouble(items: Sequence[Item]) -> bool:
    """Say whether a pain, a bad knee or a complaint is told of anywhere, on whichever side."""
    return any(
        (item.tag is Tag.REASON and item.value == "pain" and not _is_denied(items, place))
        or COMPLAINT in {item.value if item.tag is Tag.PERSON else None, item.other(Tag.PERSON)}
        for place, item in enumerate(items)
    )


def _is_denied(items: Sequence[Item], place: int) -> bool:
    return place > 0 and items[place - 1].is_mark("no", "denies")


def _after_both_knees(items: Sequence[Item], place: int) -> int:
    """Return the place behind "in either knee", or the same one."""
    at = place + item_at(items, place).is_mark("preposition")
    if item_at(items, at).tag is not Tag.SIDE or items[at].value not in {"both", "neither"}:
        return place
    return at + 1 + item_at(items, at + 1).is_mark("knee")


def _goes_on(items: Sequence[Item], place: int) -> bool:
    """Say whether a list of what is denied may go on behind a comma: "no complaints, locking or pain"."""
    if place >= len(items):
        return False
    sign = items[place].sign
    told = items[place].tag is Tag.REASON or (sign is not None and bool(sign.told))
    end = next((at for at in range(place, len(items)) if items[at].is_break(".")), len(items))
    return told or any(item.is_mark("or") for item in items[place:end])
