"""Stress tests before parsing: varus and valgus find their test, a Lachman its end point."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, item_at, reads, sentence_at
from fabella.dictation.nodes import Head
from fabella.dictation.stability import is_stable, speaks_of_stability
from fabella.dictation.vocabulary import Lexicon, SignWord, Tag

NOT_OF_WHAT = "of the alignment, or of the stress test?"
_EITHER = "vargus"
_HIGHEST_GRADE = 3
_BENDS_DEG = (20, 25, 30)


def find_directions(items: list[Item], lexicon: Lexicon) -> list[Item]:
    """Make varus and valgus a direction of a stress test, or else the alignment of the leg."""
    settled: list[Item] = []
    items = _joined_directions(items)
    for place, item in enumerate(items):
        if item.tag is not Tag.BOW or _reaches_test(items, place) or _aligned(items, place):
            settled.append(item)
        elif _is_beside_unknown(items, place):
            settled.append(replace(item, tag=Tag.UNKNOWN, value=NOT_OF_WHAT, others=()))
        elif _stressed(items, place):
            word = replace(lexicon.stress, bow=item.value)
            settled.append(replace(item, tag=Tag.SIGN, value=word, others=()))
        elif _is_put_right(sentence_at(items, place)):
            settled.append(replace(item, tag=Tag.UNKNOWN, value=NOT_OF_WHAT, others=()))
        else:
            word = SignWord(
                name=f"{item.value} alignment", to=(f"{item.value}_alignment",), bow=item.value,
                reader="alignment", group="alignment",
            )  # fmt: skip
            settled.append(replace(item, tag=Tag.SIGN, value=word, others=()))
    return settled


def _is_beside_unknown(items: Sequence[Item], place: int) -> bool:
    """Say whether "and" joins a direction to a word that is not known: "valgus and xyz stress"."""
    joint, other, test = (item_at(items, place + step) for step in (1, 2, 3))
    joined = joint.is_mark("and", "or") or joint.is_break("/")
    doubtful = other.sign is not None and other.sign.name == _EITHER
    return joined and (doubtful or (other.tag is Tag.UNKNOWN and is_stress(test)))


def _joined_directions(items: Sequence[Item]) -> list[Item]:
    """Return the items in which a comma between two directions is an "and": "varus, valgus stable".

    One right behind a direction is none where it is told how stable it is: "varus, stable".
    """
    kept: list[Item] = []
    for place, item in enumerate(items):
        before, after = item_at(items, place - 1), item_at(items, place + 1)
        behind = item.is_break(",", ":") and before.tag is Tag.BOW
        if behind and item.is_break(",") and after.tag is Tag.BOW and after.value != before.value:
            kept.append(replace(item, tag=Tag.MARK, value="and", text="and"))
        elif not (behind and is_stable(after) and _opens_clause(items, place - 2)):
            kept.append(item)
    return kept


def _opens_clause(items: Sequence[Item], place: int) -> bool:
    """Say whether nothing but another direction stands before a direction in its clause."""
    return item_at(items, place).is_break() or item_at(items, place).is_mark("and", "knee")


def _is_put_right(sentence: Sequence[Item]) -> bool:
    """Say whether a direction may be put right for a stress test: "valgus, sorry varus, laxity"."""
    return any(each.is_mark("sorry", "actually") for each in sentence) and any(map(is_stress, sentence))


def _reaches_test(items: Sequence[Item], place: int) -> bool:
    """Say whether a stress test is named right beside the direction, so that it needs none of its own."""
    for step in (1, -1):
        at = _behind_no(items, place) if step > 0 else place + step
        while 0 <= at < len(items) and _leads_to_test(items, at, backwards=step < 0):
            at += step
        if 0 <= at < len(items) and is_stress(items[at]):
            return True
    return _opens_before(items, place) or _is_left_out(items, place)


def _is_left_out(items: Sequence[Item], place: int) -> bool:
    """Say whether a "not" parts a direction from that of a test: "opens to valgus, not to varus"."""
    at = place - 1 - item_at(items, place - 1).is_mark("preposition")
    if not item_at(items, at).is_mark("no"):
        return False
    at -= 1
    while (
        item_at(items, at).is_mark("but", "and") or item_at(items, at).is_break(",") or _is_at_bend(items, at)
    ):
        at -= 1
    return at >= 0 and items[at].tag is Tag.BOW and _reaches_test(items, at)


def _is_at_bend(items: Sequence[Item], at: int) -> bool:
    return at >= 0 and (items[at].tag in {Tag.ANGLE, Tag.NUMBER} or items[at].is_mark("preposition"))


def _behind_no(items: Sequence[Item], place: int) -> int:
    """Return the place after a direction and its "no": "valgus no laxity", but not "in valgus no laxity"."""
    after = place + 1 + item_at(items, place + 1).is_break(":")
    denied = item_at(items, after).is_mark("no") and item_at(items, place - 1).text != "in"
    return after + 1 if denied else place + 1


def _opens_before(items: Sequence[Item], place: int) -> bool:
    """Say whether the direction ends "opens 5 mm at 30 degrees of valgus"."""
    at = place - 1
    while _is_at_bend(items, at):
        at -= 1
    return at >= 0 and is_stress(items[at]) and items[at].value.name == "opens"


def _leads_to_test(items: Sequence[Item], at: int, *, backwards: bool) -> bool:
    if items[at].tag is Tag.BOW or items[at].is_mark("and", "or", "preposition") or items[at].is_break("/"):
        return True
    between = items[at].tag in {Tag.ANGLE, Tag.NUMBER, Tag.COMPARTMENT}
    return between and (not backwards or items[at + 1].is_mark("preposition"))


def is_stress(item: Item) -> bool:
    """Say whether an item names a collateral stress test."""
    return reads(item, "stress")


def _stressed(items: Sequence[Item], place: int) -> bool:
    beside = _beside(items, place)
    graded = bool(beside) and isinstance(beside[0].value, Quantity) and not beside[0].value.unit
    in_list = graded and _follows_ligament(items, place) and beside[0].value.value <= _HIGHEST_GRADE
    return in_list or _bent_on_a_side(items, place) or any(speaks_of_stability(item) for item in beside)


def _bent_on_a_side(items: Sequence[Item], place: int) -> bool:
    """Say whether the bend of the test, a side and its grade follow: "varus 30 R 0"."""
    bend, side, grade = (item_at(items, place + step) for step in (1, 2, 3))
    bent = isinstance(bend.value, Quantity) and not bend.value.unit and bend.value.value in _BENDS_DEG
    number = isinstance(grade.value, Quantity) and grade.value.value <= _HIGHEST_GRADE
    return bent and side.tag is Tag.SIDE and (number or grade.tag is Tag.DESCRIBING)


def _follows_ligament(items: Sequence[Item], place: int) -> bool:
    """Say whether the sign before is a ligament test: "posterior drawer 0, valgus 0"."""
    before = next((item.sign for item in reversed(items[:place]) if item.tag is Tag.SIGN), None)
    return before is not None and before.group in {"ligament", "pivot"}


def _beside(items: Sequence[Item], place: int) -> list[Item]:
    """Return what follows a direction up to the next sign or break, and what stands right before it."""
    following: list[Item] = []
    after = place + 2 if place + 1 < len(items) and items[place + 1].is_break(":") else place + 1
    for at, item in enumerate(items[after:], start=after):
        if item.tag is Tag.SIDE and _is_graded(items[at + 1 : at + 2]):
            continue  # "valgus: left 1+ at 30"
        if item.tag in {Tag.SIGN, Tag.SIDE} or item.is_break(".", ",", ":"):
            break
        if item.tag is not Tag.BOW and not item.is_mark("and", "or") and not item.is_break("/"):
            following.append(item)
    before = place - 1
    while before >= 0 and (
        items[before].is_mark("and", "or", "preposition")
        or items[before].is_break("/")
        or items[before].tag is Tag.BOW
    ):
        before -= 1
    preceding = [items[before]] if before >= 0 else []
    return [*following[:2], *(item for item in preceding if item.tag is Tag.DESCRIBING)]


def _is_graded(following: Sequence[Item]) -> bool:
    """Say whether a grade, a result or a reading in millimetres comes next."""
    return bool(following) and following[0].tag is not Tag.ANGLE and speaks_of_stability(following[0])


def _aligned(items: Sequence[Item], place: int) -> bool:
    """Say whether the word alignment stands beside, so that varus only tells how it is."""
    around = [*items[max(0, place - 3) : place], *items[place + 1 : place + 3]]
    return any(item.sign is not None and item.sign.name == "alignment" for item in around)


def join_stress_tests(items: list[Item]) -> list[Item]:
    """Return the items with "varus stress opens" or "MCL grade 2 laxity" as one test."""
    kept: list[Item] = []
    last: int | None = None
    for item in items:
        if is_stress(item):
            joined = None
            if last is not None:
                names_it = all(each.is_mark("preposition") for each in kept[last + 1 :])
                joined = _joined_test(kept[last], item, names_it=names_it)
            if joined is not None and last is not None:
                across = any(each.tag is Tag.SIDE for each in kept[last:])
                kept[last] = joined
                if across:
                    _move_behind_side(kept, last)
                last = None
                continue
            last = len(kept)
        elif not _stands_inside_test(item):
            last = None
        kept.append(item)
    return kept


def _move_behind_side(kept: list[Item], place: int) -> None:
    """Move a test, with the direction before it, behind the side that was named between its two names."""
    test = kept.pop(place)
    if place and kept[place - 1].tag is Tag.BOW:
        bow = kept.pop(place - 1)
        head: Head = test.value
        word = replace(head.word, bow=head.word.bow or bow.value)
        test = replace(test, value=replace(head, word=word, pieces=((bow.first, bow.last), *head.pieces)))
    kept.append(test)


def _joined_test(first: Item, second: Item, *, names_it: bool) -> Item | None:
    """Return two names of one stress test as one, or None where each names its own.

    ``names_it`` says that the second only names the ligament of the first: "laxity of the MCL".
    """
    generic = {"opens", "stress", "instability"}
    names = {first.value.name, second.value.name}
    if not names & generic or (first.value.bow and second.value.bow):
        return None
    lax = names_it and first.text in {"laxity", "instability"}
    if not first.value.bow and second.value.bow and first.value.name != "opens" and not lax:
        return None
    leading = first.value if first.value.name == "opens" or lax else second.value
    word = replace(leading, bow=first.value.bow or second.value.bow)
    pieces = ((first.first, first.last), (second.first, second.last))
    return replace(first, value=Head(word=word, pieces=pieces, text=first.text))


def _stands_inside_test(item: Item) -> bool:
    if item.tag is Tag.DESCRIBING:
        return item.value.degree is not None or item.value.grade is not None
    between = {Tag.BOW, Tag.COMPARTMENT, Tag.ANGLE, Tag.SIDE, Tag.NUMBER}
    return item.tag in between or item.is_mark("preposition", "knee") or item.is_break(":", "/")
