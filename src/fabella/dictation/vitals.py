"""Vital signs with their numbers: "heart rate 112, BP 104 over 62, sats 96 on air"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fabella.dictation.items import Item
from fabella.dictation.listed import load_listed
from fabella.dictation.numbers import number_at
from fabella.dictation.outcome import measured
from fabella.dictation.spans import Mark
from fabella.dictation.understood import Became, Idle
from fabella.dictation.vocabulary import Tag
from fabella.dictation.words import Word, text_at
from fabella.protocol import Protocol
from fabella.record import Finding

IN_AIR = "it was taken with oxygen; what is it in air?"
_RECORDED = ("heart_rate", "systolic_pressure", "respiratory_rate", "oxygen_saturation")
_SHOWN = {"coma_scale": (3, 15)}
"""What has no sign, and what numbers it can have: the points of the scale (from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Vital:
    """Words from ``first`` up to ``last`` that tell one vital sign and its number."""

    kind: str
    value: float
    first: int
    last: int
    with_oxygen: bool = False


def take_vitals(
    items: Sequence[Item], words: Sequence[Word], protocol: Protocol
) -> tuple[tuple[Item, ...], tuple[Mark, ...]]:
    """Return the items without vital signs that are told with their number, and a mark for each of these.

    A number that is put right, doubted, out of all bounds or told twice with another is left to be asked
    about, and so is a saturation with oxygen; the lower number of a blood pressure has no place.
    """
    found = [each for each in _vitals(words) if _is_possible(each, protocol) and _is_whole(each, items)]
    told = [
        each for each in found if all(each.value == other.value for other in found if other.kind == each.kind)
    ]
    taken = {place for each in told for place in range(each.first, each.last)}
    kept = tuple(item for item in items if item.first == item.last or item.first not in taken)
    return kept, tuple(_mark(each, protocol) for each in told)


def findings_of(marks: Sequence[Mark]) -> Iterator[Finding]:
    """Yield each finding that the marks of vital signs hold, once."""
    yield from dict.fromkeys(each for mark in marks for each in mark.findings)


def _vitals(words: Sequence[Word]) -> Iterator[_Vital]:
    place = 0
    while place < len(words):
        vital = _at(words, place)
        if vital is not None:
            yield vital
        place = vital.last if vital is not None else place + 1


def _at(words: Sequence[Word], place: int) -> _Vital | None:
    text = [word.text for word in words[place : place + 16]]
    listed = load_listed("vitals")
    kinds = (*_RECORDED, *_SHOWN)
    length, kind = max((listed.length(text, each), each) for each in kinds)
    if not length:
        return None
    length += listed.length(text[length:], "says")
    number = number_at(words, place + length) if place + length < len(words) else None
    if number is None:
        return None
    value, end = number
    if kind == "systolic_pressure" and (over := listed.end(text, end - place, "over")):
        below = number_at(words, place + over) if place + over < len(words) else None
        if below is None or not 0 < below[0] < value:
            return None
        end = below[1]
    for follows in ("units", "breathing", "units"):
        end = place + (listed.end(text, end - place, follows) or end - place)
    oxygen = listed.end(text, end - place, "oxygen") if kind == "oxygen_saturation" else 0
    end = place + (oxygen or end - place)
    if _is_put_right(words, end):
        return None
    return _Vital(kind=kind, value=value, first=place, last=end, with_oxygen=oxygen > 0)


def _is_put_right(words: Sequence[Word], end: int) -> bool:
    """Say whether what stands behind a number puts it right, or doubts it; "no" denies what comes with it."""
    listed = load_listed("vitals")
    start = end + (text_at(words, end) == ",")
    length = listed.length([word.text for word in words[start : start + listed.most]], "corrects")
    if not length or text_at(words, start) != "no" or start + 1 == len(words):
        return length > 0
    return text_at(words, start + 1) == "," or number_at(words, start + 1) is not None


def _is_possible(vital: _Vital, protocol: Protocol) -> bool:
    """Say whether somebody can have such a number: a pulse of two plus is that of a foot."""
    if vital.kind in _SHOWN:
        low, high = _SHOWN[vital.kind]
        return low <= vital.value <= high
    measure = protocol.sign(vital.kind).scale.measure
    return measure is not None and measure.low <= vital.value <= measure.high


def _is_whole(vital: _Vital, items: Sequence[Item]) -> bool:
    """Say whether its words share no item with others: "rate 112 to 120" is one range."""
    return not any(
        item.first < vital.last < item.last
        or item.first < vital.first < item.last
        or (item.tag is Tag.UNKNOWN and item.value != item.text and vital.first <= item.first < vital.last)
        for item in items
    )


def _mark(vital: _Vital, protocol: Protocol) -> Mark:
    pieces = ((vital.first, vital.last),)
    if vital.kind in _SHOWN:
        return Mark(pieces=pieces, became=Became.FRAME, why=Idle.NO_PLACE)
    if vital.with_oxygen:
        return Mark(pieces=pieces, became=Became.AMBIGUOUS, why=IN_AIR)
    finding = measured(protocol.sign(vital.kind), vital.value)
    return Mark(pieces=pieces, became=Became.FINDING, findings=(finding,))
