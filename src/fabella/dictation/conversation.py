"""The items of a text without what is said to the patient, and what becomes of those words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from fabella.dictation.addressed import Addressed, addressed
from fabella.dictation.asked import leave_asked
from fabella.dictation.items import Item, break_at, item_at
from fabella.dictation.spans import Mark
from fabella.dictation.understood import Became, Idle
from fabella.dictation.vocabulary import Class, Tag
from fabella.dictation.words import Word, text_at

ANSWERED = "a question and its answer; say what was found"
_MOVES = {"bend", "straighten", "flex", "extend"}
_READINGS = {Tag.NUMBER, Tag.RANGE}
_ALONG = {"down", "up"}
_NAMED = {Tag.SIGN, Tag.SITE, Tag.SIDE}
_BETWEEN = {Tag.SIDE, Tag.MARK}


def leave_conversation(
    items: Sequence[Item], words: Sequence[Word]
) -> tuple[tuple[Item, ...], tuple[Mark, ...]]:
    """Return the items that may tell something of a knee, and a mark for all that is said to the patient.

    A side stays, and so does a movement of which the reading follows: "bend your left knee for me, 130".
    What is announced is the heading of what is found: "I'm going to feel the joint line. No tenderness."
    """
    stretches = addressed(words)
    kept: list[Item] = []
    headings: list[Sequence[Item]] = []
    place = 0
    for stretch in stretches:
        start = next((at for at in range(place, len(items)) if items[at].first >= stretch.first), len(items))
        kept += items[place:start]
        asks = text_at(words, stretch.last) == "?"
        if kept and not kept[-1].is_break() and not asks:
            kept.append(break_at(stretch.first))
        place = next((at for at in range(start, len(items)) if items[at].last > stretch.last), len(items))
        if stretch.answered:
            continue
        wished = _is_wished(items, place, words, stretch)
        reading = 0 if wished else _reading_behind(items, place)
        kept += _told(items[start:place], measured=reading > 0)
        if reading:
            place = reading
        elif heading := _heading_behind(items, place):
            announced = items[place:heading]
            kept += [*announced, replace(items[heading], value=":")]
            headings.append(announced)
            place = heading + 1
        elif not item_at(items, place).is_break() and not asks:
            kept.append(break_at(stretch.last))
        if wished:
            kept.append(Item(tag=Tag.MARK, value="hedge", first=stretch.last, last=stretch.last))
    kept += items[place:]
    for announced in headings:
        kept = _without_idle(kept, announced)
    told, asked = leave_asked(kept)
    return _with_short_answers(told), (*map(_mark, stretches), *asked)


def _reading_behind(items: Sequence[Item], place: int) -> int:
    """Return the place of the reading that is told at once, whatever marks stand before it; or 0."""
    while place < len(items) and (items[place].is_break(",", ".") or items[place].is_mark("preposition")):
        place += 1
    named = item_at(items, place + 1).sign is not None  # "Let me bend it. 125 degrees of flexion."
    return place if item_at(items, place).tag in _READINGS and not named else 0


def _is_wished(items: Sequence[Item], place: int, words: Sequence[Word], stretch: Addressed) -> bool:
    """Say whether a number is how far the patient should go: "I'd like you to get to 120 of flexion"."""
    number = item_at(items, place + item_at(items, place).is_mark("preposition"))
    led = number.first == stretch.last + 1 and text_at(words, stretch.last) == "to"
    asked = "you" in {word.text for word in words[stretch.first : stretch.last]}
    return led and asked and number.tag is Tag.NUMBER


def _told(items: Sequence[Item], *, measured: bool) -> Iterator[Item]:
    """Yield what a request tells besides: which knee, and which movement is ``measured`` then."""
    for place, item in enumerate(items):
        if item.tag is Tag.SIDE and item_at(items, place - 1).text in _ALONG:
            continue  # "stroke down the other side"
        of_side = item.is_mark("knee") and place > 0 and items[place - 1].tag is Tag.SIDE
        moves = measured and item.sign is not None and item.text in _MOVES
        if item.tag is Tag.SIDE or of_side or moves:
            yield item


def _heading_behind(items: Sequence[Item], place: int) -> int:
    """Return the place of the stop behind what was announced, where nothing is told of it yet; or 0."""
    start = place
    while place < len(items) and (items[place].tag in _NAMED or items[place].is_mark("knee")):
        place += 1
    names = any(item.tag in {Tag.SIGN, Tag.SITE} for item in items[start:place])
    return place if names and place < len(items) and items[place].is_break(".") else 0


def _without_idle(items: list[Item], announced: Sequence[Item]) -> list[Item]:
    """Return the items without announced tests that are told by other names: "the ligaments. No sag"."""
    place = items.index(announced[-1]) + 2  # behind its colon
    while place < len(items) and (items[place].tag in _BETWEEN or items[place].is_break(",")):
        place += 1
    named = item_at(items, place).sign
    tests = all(item.sign is not None and item.sign.kind is Class.TEST for item in announced)
    if not tests or named is None or named.reader == "end_point":
        return items
    return [item for item in items if item not in announced]


def _with_short_answers(items: Sequence[Item]) -> tuple[Item, ...]:
    """Return the items in which a side between stops belongs to its reading: "And the left. 130."."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        side, knee = place - 1, item_at(items, place - 1).is_mark("knee")
        side -= knee
        answers = item.is_break(".", ",") and item_at(items, place + 1).tag in _READINGS
        if answers and item_at(items, side).tag is Tag.SIDE and _opens(items, side):
            continue
        kept.append(item)
    return tuple(kept)


def _opens(items: Sequence[Item], place: int) -> bool:
    """Say whether a sentence begins at a place, or at the "and" before it."""
    return item_at(items, place - 1 - item_at(items, place - 1).is_mark("and")).is_break(".")


def _mark(stretch: Addressed) -> Mark:
    pieces = ((stretch.first, stretch.last),)
    if stretch.answered:
        return Mark(pieces=pieces, became=Became.NOT_UNDERSTOOD, why=ANSWERED)
    return Mark(pieces=pieces, became=Became.FRAME, why=Idle.ADDRESSED)
