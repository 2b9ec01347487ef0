"""What is missing from full extension: "lacks ten degrees of extension", "springy block 15 degrees short"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, Quantity, item_at, reads
from fabella.dictation.nodes import Head
from fabella.dictation.vocabulary import Lexicon, Tag


def find_short_of_straight(items: Sequence[Item], lexicon: Lexicon) -> list[Item]:
    """Return the items in which "15 degrees short" behind a block is what is missing from full extension."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        degrees = bool(kept) and isinstance(kept[-1].value, Quantity) and kept[-1].value.unit == "deg"
        ends = item_at(items, place + 1).is_break()
        if item.is_mark("than") and item.text == "short" and degrees and ends and _is_blocked(kept):
            word = next(each.value for each in lexicon.tree.follows["lack"].meanings if each.tag is Tag.SIGN)
            kept.append(replace(item, tag=Tag.SIGN, value=word, others=()))
        else:
            kept.append(item)
    return kept


def _is_blocked(before: Sequence[Item]) -> bool:
    """Say whether the last sign of the sentence is a block to extension, or the extension itself."""
    last = next((each for each in reversed(before) if each.tag is Tag.SIGN or each.is_break(".")), None)
    word = last.sign if last is not None else None
    return word is not None and ("block_to_extension" in word.to or word.reader == "extension")


def join_shortfalls(items: list[Item]) -> list[Item]:
    """Return the items with "lacks ten degrees of extension" as one sign and its number."""
    kept: list[Item] = []
    for item in items:
        lacking = kept[-2] if len(kept) > 1 and kept[-1].tag in {Tag.NUMBER, Tag.RANGE} else None
        active = item.sign is not None and "active_knee_extension" in item.sign.to
        if item.tag is not Tag.SIGN or lacking is None or not reads(lacking, "shortfall"):
            kept.append(item)
        elif active or reads(item, "extension") or "passive_extension" in item.value.to:
            word = replace(lacking.value, to=("extensor_lag",), reader="deficit") if active else lacking.value
            whole = Head(
                word=word,
                pieces=((lacking.first, lacking.last), (item.first, item.last)),
                text=lacking.text,
            )
            kept[-2] = replace(lacking, value=whole)
        elif reads(item, "flexion") or "passive_flexion" in item.value.to:
            word = replace(
                item.value,
                to=(),
                reader="",
                aside="what is missing from a full bend is no reading; say how far it bends",
            )
            pieces = ((lacking.first, lacking.last), (item.first, item.last))
            kept[-2] = replace(lacking, value=Head(word=word, pieces=pieces, text=item.text))
        else:
            kept.append(item)
    return kept
