"""A question that the next sentence answers itself: "Any scars? No scars on either knee."."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from fabella.dictation.items import Item, sentences
from fabella.dictation.spans import Mark
from fabella.dictation.understood import Became, Idle
from fabella.dictation.vocabulary import Describing, Tag

_IN_QUESTIONS = {Tag.SIGN, Tag.BREAK}


def leave_asked(items: Sequence[Item]) -> tuple[tuple[Item, ...], tuple[Mark, ...]]:
    """Return the items without each question about one sign that is told at once, and a mark for it."""
    kept: list[Item] = []
    marks: list[Mark] = []
    for sentence, following in pairwise([*sentences(items), []]):
        if _is_answered(sentence, following):
            pieces = ((sentence[0].first, sentence[-1].last),)
            marks.append(Mark(pieces=pieces, became=Became.FRAME, why=Idle.HEADING))
        elif _is_told_how_much(sentence, following):
            asks = next(item for item in sentence if item.is_mark("hedge"))
            marks.append(Mark(pieces=((asks.first, asks.last),), became=Became.FRAME, why=Idle.HEADING))
            kept += [item for item in sentence if item is not asks and not item.is_break()]
            kept.append(replace(sentence[-1], value=":"))
        else:
            kept += sentence
    return tuple(kept), tuple(marks)


def _is_told_how_much(sentence: Sequence[Item], following: Sequence[Item]) -> bool:
    """Say whether the next sentence opens with how much there is of it: "And the effusion? Small."."""
    if not _asks_of_one(sentence) or not following or not sentence[-1].is_break("."):
        return False
    said, told = following[0].value, any(item.tag in {Tag.SIGN, Tag.SITE, Tag.BOW} for item in following)
    return not told and isinstance(said, Describing) and (said.degree is not None or said.grade is not None)


def _asks_of_one(sentence: Sequence[Item]) -> str:
    """Return the sign of which alone a sentence asks, without a side; or nothing."""
    if not any(item.is_mark("hedge") and item.text == "?" for item in sentence):
        return ""
    plain = [item for item in sentence if not item.is_mark("hedge", "knee", "and")]
    names = [item.sign.name for item in plain if item.sign is not None]
    return names[0] if len(names) == 1 and all(item.tag in _IN_QUESTIONS for item in plain) else ""


def _is_answered(sentence: Sequence[Item], following: Sequence[Item]) -> bool:
    """Say whether a sentence only asks about a sign, without a side, that the next names again."""
    asked = _asks_of_one(sentence)
    return bool(asked) and any(item.sign is not None and item.sign.name == asked for item in following)
