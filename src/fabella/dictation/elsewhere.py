"""What no hands found today: shown by an image, found at another visit, or true of somebody else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item
from fabella.dictation.vocabulary import Tag
from fabella.dictation.words import Word, text_at

_WHY = {
    "image": "an image showed it; say what hands found",
    "then": "it was found at another time; say what was found today",
    "kin": "it is said of somebody else",
}
_ASKED_FOR = {
    "requested", "pending", "awaited", "booked", "arranged", "ordered", "organised", "organized", "planned",
    "to", "next", "today", "assessment", "clinic", "check", "review",
}  # fmt: skip
_HAVE = {"has", "had", "have", "with", "suffers", "suffered", "of", ":"}
"""Behind a relative, these tell what the relative has; "mother says" tells of the patient."""

_BACK = {"clinically", "examination", "exam", "examined", "now", "today", "currently"}
_TELLING = {
    Tag.SIGN, Tag.DESCRIBING, Tag.NUMBER, Tag.RANGE, Tag.BOW, Tag.ANGLE, Tag.LUMP, Tag.SITE, Tag.COMPARTMENT,
}  # fmt: skip


def leave_elsewhere(items: Sequence[Item], words: Sequence[Word]) -> tuple[Item, ...]:
    """Return the items in which what an image or another visit showed is open, up to the end of its sentence.

    Words that lead back to the examination end it before: "clinically", "on examination", "today".
    """
    kept: list[Item] = []
    why = ""
    reached = 0
    for item in items:
        if why and (_leads_back(words, reached, item.first) or _ends(item)):
            why = ""
        if _is_witness(item, words):
            kept.append(replace(item, tag=Tag.UNKNOWN, value=item.text, others=()))
            continue
        opened = _opens(item, words)
        if opened == _WHY["then"] and kept and kept[-1].tag in _TELLING:
            kept.append(replace(item, tag=Tag.MARK, value="hedge", others=()))  # "effusion last time, …"
            continue
        told = item.tag in _TELLING or item.is_mark("no", "denies", "hedge", "rest", "all")
        if why and told and not opened:
            first = kept.pop().first if kept and kept[-1].value == why else item.first
            kept.append(replace(item, tag=Tag.UNKNOWN, value=why, first=first, others=()))
        else:
            kept.append(item)
        why = opened or why
        reached = item.last
    return tuple(kept)


def _is_witness(item: Item, words: Sequence[Word]) -> bool:
    """Say whether a relative only tells of the patient ("mother says …"), or a time only names the visit."""
    group = item.sign.group if item.sign is not None else ""
    after = text_at(words, item.last)
    if group == "then":
        return after in _ASKED_FOR
    return group == "kin" and not item.text.startswith(("family", "fhx")) and after not in _HAVE


def _opens(item: Item, words: Sequence[Word]) -> str:
    """Return why what follows a word is no finding of today, or nothing."""
    why = _WHY.get(item.sign.group, "") if item.sign is not None else ""
    return "" if text_at(words, item.last) in _ASKED_FOR else why


def _leads_back(words: Sequence[Word], start: int, end: int) -> bool:
    """Say whether the words before an item lead back to the examination."""
    between = [word.text for word in words[start:end]]
    return bool(_BACK.intersection(between)) or between[:3] == ["o", "/", "e"]


def _ends(item: Item) -> bool:
    """Say whether the sentence ends; a semicolon only parts what an image showed."""
    return item.is_break(".") and item.text != ";"
