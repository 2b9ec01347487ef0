"""Marks of writing: breaks, dashes and plus signs, each by what stands around it."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.items import Item
from fabella.dictation.short import PRESENT
from fabella.dictation.vocabulary import Describing, Tag
from fabella.dictation.words import Word, ends_sentence, text_at

_BREAKS = {
    ",": ",", ":": ":", "=": ":", "/": "/", "(": ",", ")": ",",
    "[": ",", "]": ",", "...": ",", "..": ",", "…": ",", '"': ",", "-": ",", "|": ".", "\n": ".",
}  # fmt: skip
_OPENING = {".", ";", ":", ",", "-", "\n"}
_CLOSING = {".", ",", ";", ")", "\n"}
OPPOSITE = ({"r", "l"}, {"rt", "lt"}, {"right", "left"})
_LONGEST_LABEL = 3
_TURNS_TO = {"now", "next"}
_COMPARED = {"than", "as", "like", "until", "till"}
_ABSENT = Describing(key="negative", says="absent")


def mark_at(words: Sequence[Word], place: int) -> Item | None:
    """Return the break or the result that a mark of writing is, or None for a word."""
    word = words[place]
    if word.text == "-" and text_at(words, place - 1) == "(" and text_at(words, place + 1) == ")":
        return Item(tag=Tag.DESCRIBING, value=_ABSENT, first=place, last=place + 1)
    if word.text in {"+", "-"} and _is_prefix(words, place):
        if word.text == "+" and text_at(words, place - 1) != "(":
            return Item(tag=Tag.DESCRIBING, value=PRESENT, first=place, last=place + 1)
        return Item(tag=Tag.MARK, value="hedge", first=place, last=place + 1, text=word.text)
    if word.text == "-" and _is_minus_sign(words, place):
        return Item(tag=Tag.DESCRIBING, value=_ABSENT, first=place, last=place + 1)
    if word.text == "=" and {text_at(words, place - 1), text_at(words, place + 1)} in OPPOSITE:
        return Item(tag=Tag.MARK, value="same", first=place, last=place + 1, text="same as")
    mark = "." if ends_sentence(word) else _BREAKS.get(word.text)
    if mark is None:
        return None
    if word.text == "-" and _labels(words, place):
        mark = ":"
    return Item(tag=Tag.BREAK, value=mark, first=place, last=place + 1, text=word.text)


def ends_question(words: Sequence[Word], place: int) -> bool:
    """Say whether a question mark ends a sentence, and no more only doubts the word behind it: "? torn"."""
    glued_behind = place + 1 < len(words) and words[place + 1].glued
    return words[place].text == "?" and words[place].glued and not glued_behind


def opens_next(words: Sequence[Word], place: int) -> bool:
    """Say whether a side is what the examiner turns to, in speech without marks: "now the left"."""
    if text_at(words, place - 1) != "the":
        return False
    lead = place - 2 - (text_at(words, place - 2) in {"for", "to"})
    return text_at(words, lead) in _TURNS_TO and text_at(words, lead - 1) not in _COMPARED


def _is_minus_sign(words: Sequence[Word], place: int) -> bool:
    """Say whether a dash is a result ("Lachman -, pivot +") and no dash of the sentence."""
    following, before = text_at(words, place + 1) or ".", text_at(words, place - 1) or "."
    return following in _CLOSING and before not in {".", ",", ";", "\n"}


def _is_prefix(words: Sequence[Word], place: int) -> bool:
    """Say whether a plus or minus stands right before a word and apart from the one before: "-effusion"."""
    if text_at(words, place - 1) == "(" and text_at(words, place + 1) == ")":
        return not text_at(words, place - 2) or text_at(words, place - 2) in _OPENING
    following = words[place + 1] if place + 1 < len(words) else None
    if following is None or not following.glued or not following.text[0].isalpha():
        return False
    return not words[place].glued


def _labels(words: Sequence[Word], place: int) -> bool:
    """Say whether a dash stands behind the short label that opens a sentence: "Joint lines - not tender"."""
    if words[place].glued or (place + 1 < len(words) and words[place + 1].glued):
        return False
    opens = next((at for at in range(place - 1, -1, -1) if words[at].text in _OPENING), -1)
    return 0 < place - 1 - opens <= _LONGEST_LABEL
