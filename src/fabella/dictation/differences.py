"""Differences between the knees: "5 mm more than the left", "right thigh 3 cm thinner", "15 degrees more"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.claims import Claim
from fabella.dictation.items import Item, Quantity, item_at
from fabella.dictation.outcome import Outcome, stated
from fabella.dictation.plain import targets_of
from fabella.dictation.vocabulary import Class, SignWord, Tag
from fabella.record import Finding, State

NOT_COMPARED = "it is not said what is compared with what"
_SURE_MM = 3.0
"""A side difference that the knee form of IKDC 2000 no longer calls normal."""

_SURE_DIAL_DEG = 10.0
"""A side difference of the dial test that counts: Slichter 2018 J Exp Orthop, 10.1186/s40634-018-0131-y."""

_SURE_GIRTH_CM = 1.0
"""A thigh thinner by this counts as wasted: a teaching page; others say 3 cm, so that it is only offered."""

_LEAST_GIRTH_CM = 15.0
"""No wasting, lump or swelling of a calf or a thigh is told by so many centimetres: a judgement."""

_PLAIN_GIRTH_CM = 25.0
"""A number without a unit behind "thigh" or "calf" that is so great can only be its girth: a judgement."""

_BENT_DEG = 45.0
_MORE = ("more", "greater", "larger", "bigger", "thicker", "wider")
_LESS = ("less", "smaller", "thinner", "slimmer", "short")
_UNITS = {"mm", "cm", "deg", "inch"}
_GIRTHS = {"thigh": "thigh_girth", "calf": "calf_girth"}
_REACH = 4
_THEMSELVES = {
    "dial", "wasting", "leg_length", "shorter", "longer", "shortfall", "extension", "hyperextension",
    "deficit", "alignment",
}  # fmt: skip
"""What is missing to straight counts downwards, so that "5 degrees less" may be either way."""


def settle_differences(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "more" stays only beside a measure, and a thinner thigh is its girth."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        if item.is_mark("compared") and not _is_measured(items, place):
            kept.append(replace(item, tag=Tag.UNKNOWN, value=NOT_COMPARED))
        elif (girth := _girth(items, place)) is not None:
            kept.append(replace(item, tag=Tag.SIGN, value=girth, others=()))
        else:
            kept.append(item)
    return kept


def is_difference(items: Sequence[Item], place: int) -> bool:
    """Say whether the number at a place is a difference: "15 degrees more", "5 mm more than the left"."""
    following = item_at(items, place + 1)
    return following.is_mark("compared") or _compares(following)


def read_difference(claim: Claim, word: SignWord) -> Outcome | None:
    """Read a difference between the knees, which is not the reading of this one.

    Where a difference alone tells that a test is positive, that is entered and the difference noted; else the
    reading of each knee is asked for. A difference from something else ("3 mm more at 30 than at 0", "4 mm
    more than normal") is none between the knees.
    """
    numbers = [each for each in claim.quantities if each.unit in _UNITS or not each.unit]
    way = _way(claim)
    if not numbers or not way:
        return None
    number, unnamed = numbers[0], bool(claim.marks("than"))
    other = claim.reference.side if claim.reference is not None else "" if unnamed else "other"
    note = f"{number.value:g} {number.unit}".strip() + f" {way}" + (f" than the {other}" if other else "")
    within = unnamed or (word.reader == "stress" and claim.reference is None)
    sure = way == "more" and not within and not claim.denials
    targets = _positive(claim, word, number) if sure else ()
    if targets:
        return Outcome(findings=stated(targets, State.ABNORMAL, note=note))
    choices: tuple[tuple[str, tuple[Finding, ...]], ...] = ()
    cm = number.value / (10.0 if number.unit == "mm" else 1.0)
    if word.to == ("thigh_girth",) and way == "less" and number.unit != "inch" and cm >= _SURE_GIRTH_CM:
        choices = (("wasting", stated(["quadriceps_wasting"], State.ABNORMAL, note=note)),)
    return Outcome(question=f"{note}: a difference; what is the reading of each knee?", choices=choices)


def tell_by_difference(claim: Claim, before: Sequence[Claim]) -> None:
    """Turn "a centimetre less" into the reading of this knee, where that of the other was just told.

    The difference of a dial test, of wasting or of the legs is a finding itself and stays.
    """
    way, compared = _way(claim), claim.marks("compared")
    other = next((each for each in reversed(before) if each.head is not None), None)
    numbers = [mod for mod in claim.mods if mod.slot == "number"]
    if other is None or len(numbers) != 1 or not compared or claim.marks("than") or claim.denials:
        return
    read, told = numbers[0].item.value, other.quantities
    if not isinstance(read, Quantity) or not _is_of_other_knee(claim, other) or len(told) != 1 or _way(other):
        return
    if read.unit not in _UNITS or told[0].unit not in {"", read.unit} or told[0].out_of is not None:
        return
    value = round(told[0].value + (read.value if way == "more" else -read.value), 3)
    item = replace(numbers[0].item, value=replace(read, value=value))
    kept = [mod for mod in claim.mods if mod not in compared]
    claim.mods = [replace(mod, item=item) if mod is numbers[0] else mod for mod in kept]
    claim.extra.extend(piece for mod in compared for piece in mod.pieces)


def _is_of_other_knee(claim: Claim, other: Claim) -> bool:
    """Say whether a claim is of the sign that was read on the other knee, in its sentence."""
    knees = len(claim.sides) == len(other.sides) == 1 and claim.sides != other.sides
    same = claim.word is not None and other.word is not None and claim.word.to == other.word.to
    near = other.sentence == claim.sentence and claim.word is not None
    return knees and same and near and claim.word is not None and claim.word.reader not in _THEMSELVES


def _positive(claim: Claim, word: SignWord, number: Quantity) -> tuple[str, ...]:
    """Return the signs that are abnormal by so much of a difference alone."""
    if word.reader == "dial" and number.unit in {"deg", ""} and number.value >= _SURE_DIAL_DEG:
        names = ("dial_90" if bend > _BENT_DEG else "dial_30" for bend in claim.bends_deg)
        return tuple(dict.fromkeys(names)) or word.to
    if number.unit == "mm" and number.value >= _SURE_MM:
        return targets_of(claim, word)
    return ()


def _way(claim: Claim) -> str:
    """Return whether this knee has "more" or "less" than the other, or nothing where none is compared."""
    reference = claim.reference.reference if claim.reference is not None else ""
    said = [
        mod.item.text for mod in claim.marks("compared", "than") if mod.item.text.startswith(_MORE + _LESS)
    ]
    if any(each.startswith(_LESS) for each in (reference, *said)):
        return "less"
    if reference.startswith((*_MORE, "than")) or said:
        return "more"
    if reference and any(each.says == "bad" for each, _ in claim.describing):
        return "more"
    return "less" if reference and claim.reads("shortfall") else ""


def _compares(item: Item) -> bool:
    return item.is_mark("than") and item.text.startswith((*_MORE, *_LESS))


def _is_measured(items: Sequence[Item], place: int) -> bool:
    """Say whether a measure stands beside: "3 cm thinner", "thinner by 3 cm"."""
    after = [item for item in items[place + 1 : place + 3] if not item.is_mark("preposition")][:1]
    return any(map(_measure, (item_at(items, place - 1), *after)))


def _measure(item: Item) -> bool:
    value = item.value
    return item.tag is Tag.NUMBER and isinstance(value, Quantity) and value.unit in {*_UNITS, ""}


def _girth(items: Sequence[Item], place: int) -> SignWord | None:
    """Return the girth that a thigh or a calf stands for beside a length around it or a difference."""
    name = _GIRTHS.get(items[place].text)
    if name is None or items[place].tag not in {Tag.MARK, Tag.SIGN}:
        return None
    near: list[Item] = []
    for item in items[place + 1 : place + 1 + _REACH]:
        if item.is_break(",", ":") and not near:
            continue
        if item.tag is Tag.SIGN or item.is_break():
            break
        near.append(item)
    numbers = [each.value for each in near if _measure(each) and each.value.out_of is None]
    lengths = [each for each in numbers if each.unit in {"cm", "mm", "inch"}]
    compared = bool(lengths) and any(each.is_mark("compared") or _compares(each) for each in near)
    around = any(each.unit == "cm" and each.value >= _LEAST_GIRTH_CM for each in lengths)
    plain = not any(each.tag is Tag.UNKNOWN for each in near)  # "calf raises 25"
    around = around or (plain and any(not each.unit and each.value >= _PLAIN_GIRTH_CM for each in numbers))
    if not compared and not around:
        return None
    return SignWord(name=name.replace("_", " "), to=(name,), kind=Class.HEALTH)
