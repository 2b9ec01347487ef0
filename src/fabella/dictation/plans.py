"""What is to be done, or was arranged, is put aside: "I'll get an MRI", "plan: weight, physio"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fabella.dictation.items import Item, Quantity, item_at, knee_left_open
from fabella.dictation.listed import load_listed
from fabella.dictation.spans import Mark
from fabella.dictation.understood import Became, Idle
from fabella.dictation.vocabulary import Describing, Tag
from fabella.dictation.words import Word, between_stops

_LEADS = {
    "and",
    "so",
    "but",
    "then",
    "now",
    "right",
    "okay",
    "ok",
    "well",
    ",",
    ":",
    "-",
    "therefore",
    "anyway",
}
_FOUND = {Tag.RANGE, Tag.ANGLE, Tag.LUMP, Tag.BOW, Tag.COMPARTMENT, Tag.LANDMARK}
_DENYING = ("denies", "cannot", "not_done", "tolerated", "guarded", "rest", "all", "bound")
_GIVEN = ("walking_aid",)
_OF_TIME = {"h", "min", "day", "week", "month", "year"}
_OF_THE_PATIENT = {"age_years", "sex"}


def leave_plans(items: Sequence[Item], words: Sequence[Word]) -> tuple[tuple[Item, ...], tuple[Mark, ...]]:
    """Return the items without what is to be done, and a mark for each passage of it.

    A passage in which anything found is told is left as it is. A knee that is named in it may be the one
    that is told of next, or not: it is asked.
    """
    kept = list(items)
    marks: list[Mark] = []
    for first, opened, last, kind in _passages(words):
        inside = [each for each in kept if first <= each.first and each.last <= last and each.first < last]
        told = [each for each in inside if each.first >= opened]
        signs = [each for each in told if _tells_finding(each, told)]
        results = [place for place in range(len(inside)) if _tells_result(inside, place)]
        results += [at for at, each in enumerate(inside) if signs and _is_said(each)]
        if not inside or (signs and (results or kind != "headings")) or (results and kind == "wills"):
            continue
        if any(each.first < first < each.last or each.first < last < each.last for each in kept):
            continue
        start = kept.index(inside[0])
        kept[start : kept.index(inside[-1]) + 1] = knee_left_open(kept[:start], inside, last)
        marks.append(Mark(pieces=((first, last),), became=Became.FRAME, why=Idle.PLANNED))
    return tuple(kept), tuple(marks)


def _passages(words: Sequence[Word]) -> Iterator[tuple[int, int, int, str]]:
    """Yield where each sentence, or the rest of one, that opens with what is to be done begins and ends.

    In the middle stands where its opening ends, last of which kind of ``plans.toml`` that is.
    """
    for start, end in between_stops(words):
        found = _opened(words, start, end)
        if found is not None:
            yield found[0], found[1], end, found[2]


def _opened(words: Sequence[Word], start: int, end: int) -> tuple[int, int, str] | None:
    text = [word.text for word in words[start:end]]
    listed = load_listed("plans")
    at = next((at for at, word in enumerate(text) if word not in _LEADS), len(text))
    for kind in ("headings", "openings"):
        if opened := listed.end(text, at, kind):
            return start + at, start + opened, kind
    for place in range(at, len(text)):
        opens = place == at or text[place - 1] in {",", "and", "so", "but", "then", "first"}
        will = listed.end(text, place, "wills") if opens else 0
        if will and listed.end(text, will, "acts") and (place == at or text[place] != "to"):
            return start + place, start + place, "wills"
    return None


def _is_said(item: Item) -> bool:
    """Say whether a word tells how something was found; "bloods" are taken."""
    return isinstance(item.value, Describing) and "aspirate" not in item.value.fits


def _tells_finding(item: Item, beside: Sequence[Item]) -> bool:
    """Say whether an item tells what was found or asked, or how it came about; an image is no finding.

    Crutches may be given, and a joint be aspirated: a finding is only what came out.
    """
    if item.sign is None:
        return item.tag is Tag.PERSON and item.value[0] == "mechanism"
    if item.sign.group == "aspirate":
        return any(isinstance(each.value, Describing) and "aspirate" in each.value.fits for each in beside)
    return not item.sign.aside and item.sign.group != "image" and item.sign.to != _GIVEN


def _tells_result(items: Sequence[Item], place: int) -> bool:
    """Say whether an item may tell what was found, if a sign stands with it."""
    item = items[place]
    if item.tag is Tag.NUMBER:
        quantity = item.value
        return not (isinstance(quantity, Quantity) and quantity.unit in _OF_TIME)
    if isinstance(item.value, Describing):
        return _is_said(item) and bool(item.value.says or item.value.pain or item.value.degree is None)
    if item.is_mark("no"):
        return item_at(items, place + 1).tag is not Tag.UNKNOWN
    of_patient = item.tag is Tag.PERSON and item.value[0] in _OF_THE_PATIENT
    return of_patient or item.tag in _FOUND or item.is_mark(*_DENYING)
