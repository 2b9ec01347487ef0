"""End points before parsing: "2+ firm" is one, that of a stress test has no sign."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, item_at, reads
from fabella.dictation.nodes import Head
from fabella.dictation.stress import is_stress
from fabella.dictation.vocabulary import Lexicon, Tag

NO_END_POINT = "the protocol has an end point for the Lachman test only"


def find_end_points(items: list[Item], lexicon: Lexicon) -> list[Item]:
    """Return the items in which "firm" or "soft" behind the grade of a Lachman test is its end point."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        feel = item.tag is Tag.DESCRIBING and item.value.key in {"firm", "soft"}
        bare = feel and item.value.key == "firm" and _is_bare_lachman(items, place)
        told = feel and (bare or _is_graded_lachman(items, place))
        if told and not _goes_on(items, place):
            kept.append(replace(item, tag=Tag.SIGN, value=lexicon.end_point, others=()))
        kept.append(item)
    return kept


def drop_end_points(items: Sequence[Item]) -> list[Item]:
    """Return the items in which the end point of a stress test, which has no sign, is not understood."""
    kept: list[Item] = []
    for item in items:
        if not reads(item, "end_point") or not _is_of_stress_test(kept):
            kept.append(item)
            continue
        first = item
        if kept[-1].tag is Tag.DESCRIBING and kept[-1].last == item.first:
            first = kept.pop()
        text = f"{first.text} {item.text}" if first is not item else item.text
        kept.append(
            replace(item, tag=Tag.UNKNOWN, value=NO_END_POINT, first=first.first, text=text, others=())
        )
    return kept


def _is_of_stress_test(before: Sequence[Item]) -> bool:
    """Say whether the sign right before is a stress test of its sentence."""
    for item in reversed(before):
        if item.is_break("."):
            return False
        if item.tag is Tag.SIGN or item.tag is Tag.SITE:
            return is_stress(item) or (isinstance(item.value, Head) and item.value.word.reader == "stress")
    return False


def _is_graded_lachman(items: Sequence[Item], place: int) -> bool:
    before = place - 1
    while before >= 0 and (items[before].is_break(",") or items[before].is_mark("and", "preposition")):
        before -= 1
    if before < 1:
        return False
    grade = items[before]
    graded = grade.tag is Tag.NUMBER or (grade.tag is Tag.DESCRIBING and bool(grade.value.says))
    return graded and _is_lachman(_told_of(items, before))


def _is_bare_lachman(items: Sequence[Item], place: int) -> bool:
    """Say whether "firm" stands right behind a Lachman test, whose grade then nobody told."""
    before = place - 1
    while before > 0 and (items[before].tag is Tag.SIDE or items[before].is_break(":")):
        before -= 1
    return _is_lachman(item_at(items, before))


def _told_of(items: Sequence[Item], place: int) -> Item:
    """Return the sign of which a grade is said: that before it, or before the grade of the other knee."""
    at = place - 1
    while at > 0 and (
        items[at].tag in {Tag.SIDE, Tag.DESCRIBING, Tag.NUMBER} or items[at].is_break(",", ":")
    ):
        at -= 1
    return item_at(items, at)


def _is_lachman(item: Item) -> bool:
    return item.sign is not None and item.sign.name == "lachman"


def _goes_on(items: Sequence[Item], place: int) -> bool:
    """Say whether "firm" belongs to something after it: an end point named, a bend, a direction."""
    following = item_at(items, place + 1)
    group = following.sign.group if following.sign is not None else ""
    firm = items[place].value.key == "firm"
    named = group in {"end_point", "calf", "mass"} or (group == "ligament" and firm)
    return named or following.tag in {Tag.ANGLE, Tag.BOW, Tag.COMPARTMENT}
