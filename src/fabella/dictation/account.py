"""Nothing that was recognised is lost: what neither proposes nor asks is mere context, or it is asked about.

The reasons for which recognised words may add nothing are those of ``Idle`` and no others.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fabella.dictation.claims import Claim, Placed
from fabella.dictation.items import Item, sentence_at
from fabella.dictation.nodes import Turn
from fabella.dictation.spans import Mark
from fabella.dictation.understood import Became, Idle
from fabella.dictation.vocabulary import SignWord, Tag

NOTHING_MADE = "understood by itself, but not of what it is said"
_TELLING = {
    Tag.SIGN, Tag.SITE, Tag.DESCRIBING, Tag.NUMBER, Tag.RANGE, Tag.REASON, Tag.COMPARTMENT, Tag.BOW,
    Tag.ANGLE, Tag.LUMP, Tag.LANDMARK,
}  # fmt: skip
_TELLING_MARKS = (
    "no", "denies", "hedge", "cannot", "not_done", "tolerated", "guarded", "rest", "all", "compared", "bound",
)  # fmt: skip
_PUTS_RIGHT = ("sorry", "scrap", "actually")
_WHOLE_JOINT = ("joint", "joints")


def account(items: Sequence[Item], events: Sequence[Placed], marks: Sequence[Mark]) -> list[Mark]:
    """Return a mark for recognised words that no statement took: why they add nothing, or that they are open.

    Parameters
    ----------
    items
        What was recognised, before words with two meanings were settled.
    events
        What the grammar made of them.
    marks
        What the words became so far.
    """
    told = [mark for mark in marks if mark.became is not Became.FRAME or mark.why]
    taken = {word for mark in told for word in _words(mark.pieces)}
    used = dict(_used(events))
    found: list[Mark] = []
    for place, item in enumerate(items):
        words = range(item.first, item.last)
        if not is_telling(item) or taken.intersection(words):
            continue
        idle = next((used[word] for word in words if word in used), None) or _idle(items, place)
        became = Became.FRAME if idle else Became.NOT_UNDERSTOOD
        found.append(Mark(pieces=((item.first, item.last),), became=became, why=str(idle or NOTHING_MADE)))
    return found


def is_telling(item: Item) -> bool:
    """Say whether an item tells something of a knee, so that it must not be lost."""
    return item.tag in _TELLING or item.is_mark(*_TELLING_MARKS)


def _words(pieces: Sequence[tuple[int, int]]) -> Iterator[int]:
    for first, last in pieces:
        yield from range(first, last)


def _used(events: Sequence[Placed]) -> Iterator[tuple[int, Idle]]:
    """Yield the words of headings, sides and turns."""
    for placed in events:
        event = placed.event
        if isinstance(event, Claim):
            words = _words(event.pieces) if event.subject else ()
            yield from ((word, Idle.HEADING) for word in words)
        else:
            role = Idle.PUT_RIGHT if isinstance(event, Turn) else Idle.SIDE
            yield from ((word, role) for word in _words(event.pieces))


def _idle(items: Sequence[Item], place: int) -> Idle | None:
    """Return why an item that no statement took adds nothing, or None where it would be lost."""
    item = items[place]
    if item.sign is not None and item.sign.silent:
        return Idle.OPENING
    if item.tag is Tag.DESCRIBING and any(meaning.tag is Tag.SILENT for meaning in item.others):
        return Idle.FILLER
    if item.is_mark("no") and _leads_to_correction(items[place + 1 : place + 3]):
        return Idle.PUT_RIGHT
    unknown = place > 0 and items[place - 1].tag is Tag.UNKNOWN
    asks = item.text == "?" and (place == 0 or items[place - 1].is_break())
    alone = item.text == "?" and not any(
        is_telling(each) for each in sentence_at(items, place) if each is not item
    )
    if alone or (item.is_mark("hedge") and (unknown or asks) and _ends(items, place + 1)):
        return Idle.FILLER  # the unknown word before it is asked about; "where was I?" has none
    if item.tag is Tag.SITE and (item.text in _WHOLE_JOINT or _is_mere_place(items, place)):
        return Idle.PLACE
    return None


def _leads_to_correction(rest: Sequence[Item]) -> bool:
    """Say whether a "no" stands before "sorry" or "that is the right knee"."""
    after = rest[1:] if rest and rest[0].is_break() else rest[:1]
    return bool(after) and after[0].is_mark(*_PUTS_RIGHT)


def _ends(items: Sequence[Item], place: int) -> bool:
    return place >= len(items) or items[place].is_break()


def _is_mere_place(items: Sequence[Item], place: int) -> bool:
    """Say whether a site only tells where the sign in its clause is: "bruise over the tubercle"."""
    listed = place + 2 < len(items) and _joins(items, place + 1) and items[place + 2].tag is Tag.SITE
    if listed or _joins(items, place - 1):
        return False
    sign = _sign_beside(items, place, 1) or _sign_beside(items, place, -1)
    if sign is None or sign.reader == "tenderness":
        return False
    return items[place].value not in sign.at


def _joins(items: Sequence[Item], place: int) -> bool:
    return 0 <= place < len(items) and (items[place].is_mark("and", "or") or items[place].is_break("/"))


def _sign_beside(items: Sequence[Item], place: int, step: int) -> SignWord | None:
    """Return the nearest sign on one side of an item in its clause; a heading reaches over its colon."""
    at = place + step
    while 0 <= at < len(items) and not items[at].is_break(".", ","):
        item = items[at]
        if item.is_break() and step < 0:
            return None
        if item.sign is not None:
            return item.sign
        at += step
    return None
