"""The medial or the lateral side of a knee: its ligament where stability is told, else only a place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, item_at, sentence_at
from fabella.dictation.stress import is_stress
from fabella.dictation.vocabulary import Describing, Tag

_PLACES = ("side",)
_OF_STABILITY = {"stable", "tight", "firm", "lax", "soft", "increased", "open"}


def settle_parts(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "the lateral side is fine" is no stress test where no ligament is told."""
    return [_settled(items, place) for place in range(len(items))]


def _settled(items: Sequence[Item], place: int) -> Item:
    item = items[place]
    part = item.other(Tag.COMPARTMENT)
    told = item_at(items, place + 1).tag is Tag.DESCRIBING
    if part is None or not told or not is_stress(item) or not item.text.endswith(_PLACES):
        return item
    around = [each for each in sentence_at(items, place) if each is not item]
    if any(map(_tells_of_stability, around)) or _follows_ligament(items, place):
        return item
    return replace(item, tag=Tag.COMPARTMENT, value=part, others=())


def _tells_of_stability(item: Item) -> bool:
    said = item.value
    if isinstance(said, Describing):
        return said.key in _OF_STABILITY or said.grade is not None
    millimetres = isinstance(said, Quantity) and said.unit == "mm"
    stress = is_stress(item) and not item.text.endswith(_PLACES)
    return millimetres or stress or item.tag in {Tag.BOW, Tag.ANGLE}


def _follows_ligament(items: Sequence[Item], place: int) -> bool:
    """Say whether the sign told last before is that of a ligament."""
    before = next((each.sign for each in reversed(items[:place]) if each.sign is not None), None)
    return before is not None and before.group == "ligament"
