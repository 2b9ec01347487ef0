"""Words that only paint what was said, "solid as a rock", and "he's fine" of one whose knee is not meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, is_whole, item_at, sentence_at
from fabella.dictation.vocabulary import Tag
from fabella.dictation.words import Word, ends_sentence, text_at

OF_THE_MAN = "said of the patient, or of the knee?"
_SOMEBODY = {"he", "she", "they", "you", "they're", "you're"}
_CLOSING = {",", "in", "with", "about", "and", "but", "so"}
_HERSELF = {"himself", "herself", "themselves"}


def leave_wellbeing(items: Sequence[Item], words: Sequence[Word]) -> tuple[Item, ...]:
    """Return the items in which "he's fine" is asked about where no knee is named in the sentence."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        if not _is_of_somebody(items, place, words):
            kept.append(item)
        else:
            kept.append(replace(item, tag=Tag.UNKNOWN, value=OF_THE_MAN, others=()))
    return tuple(kept)


def _is_of_somebody(items: Sequence[Item], place: int, words: Sequence[Word]) -> bool:
    item = items[place]
    if item.tag is not Tag.DESCRIBING or not is_whole(item) or item.text not in {"fine", "well"}:
        return False
    before = text_at(words, item.first - 1)
    owned = before in _SOMEBODY or (before in {"is", "are"} and text_at(words, item.first - 2) in _SOMEBODY)
    ends = item.last >= len(words) or ends_sentence(words[item.last]) or words[item.last].text in _CLOSING
    ends = ends or text_at(words, item.last) in _HERSELF
    named = any(each.tag is Tag.SIDE or each.is_mark("knee", "rest") for each in sentence_at(items, place))
    return owned and ends and not named


def drop_similes(items: Sequence[Item]) -> list[Item]:
    """Return the items without a word that is not known to which a result is likened: "soft as butter"."""
    kept: list[Item] = []
    place = 0
    while place < len(items):
        item, after = items[place], item_at(items, place + 1)
        likened = bool(kept) and kept[-1].tag is Tag.DESCRIBING and item.is_mark("like") and item.text == "as"
        if likened and after.tag is Tag.UNKNOWN and item_at(items, place + 2).is_break():
            place += 2
        else:
            kept.append(item)
            place += 1
    return kept
