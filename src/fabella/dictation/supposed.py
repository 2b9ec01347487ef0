"""What only would be: supposed, taught, told by others or of others; no finding of this patient today.

Only words that stand in ``supposed.toml`` make a sentence such a one. It is asked about as a whole: what was
found may stand beside what was only explained, and a wrong reading is worse than a question.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fabella.dictation.account import is_telling
from fabella.dictation.items import Item, knee_left_open
from fabella.dictation.listed import load_listed
from fabella.dictation.vocabulary import Tag
from fabella.dictation.words import Word, between_stops

WOULD_BE = "it tells what would be found, or what a test means; say what was found"
OF_OTHERS = "it is said by or of somebody else; say what was found"
OF_ANOTHER_DAY = "it was found at another time; say what was found today"
_LEADS = {"and", "so", "but", "now", "then", "because", ",", "right", "okay", "ok", "well"}
_CONDITIONS = {"if", "when", "whenever", "unless"}
_OF_THIS_ONE = {"she", "she's", "he", "he's", "his", "her", "hers", "right", "left", "on", "both"}
_NEAR_LESION = 4  # judgement: "in a posterior cruciate ligament tear"
_NEAR_VERB = 5  # judgement: "a positive anterior drawer test feels"
_UNMARKED = 40  # judgement: a sentence so long was recognised without its stops


@dataclass(frozen=True, slots=True, kw_only=True)
class _Passage:
    """Words from ``first`` up to ``last`` that tell of no finding, and why."""

    first: int
    last: int
    why: str


def leave_supposed(
    items: Sequence[Item], words: Sequence[Word], aside: Sequence[tuple[int, int]]
) -> tuple[Item, ...]:
    """Return the items in which a sentence of what only would be is one open item.

    A knee that is named in it may be the one that is told of next, or not: it is asked.
    """
    kept = list(items)
    for passage in _passages(words, aside):
        inside = [each for each in kept if passage.first <= each.first < each.last <= passage.last]
        if not any(map(is_telling, inside)):
            continue
        start = kept.index(inside[0])
        opened = Item(tag=Tag.UNKNOWN, value=passage.why, first=passage.first, last=passage.last)
        unsure = knee_left_open(kept[:start], inside, passage.last)
        kept[start : kept.index(inside[-1]) + 1] = [opened, *unsure]
    return tuple(kept)


def _passages(words: Sequence[Word], aside: Sequence[tuple[int, int]]) -> Iterator[_Passage]:
    answer = False
    for first, last in between_stops(words, aside):
        text = [word.text for word in words[first:last]]
        asked = answer and text[0] not in _OF_THIS_ONE
        found = (0, WOULD_BE) if asked else _why(text)
        question = last < len(words) and words[last].text == "?"
        if question and found is None and _anywhere(text, "asking") is not None:
            found = (0, WOULD_BE)
        answer = question and _anywhere(text, "asking") is not None
        if found is not None:
            start, why = found
            back = _anywhere(text[start:], "back")
            end = len(text) if back is None else start + back
            yield _Passage(first=first + start, last=first + end, why=why)


def _why(text: Sequence[str]) -> tuple[int, str] | None:
    """Return from where on a sentence tells of no finding, and why; or None."""
    opens = next((at for at, word in enumerate(text) if word not in _LEADS), len(text))
    found = [
        *((_anywhere(text, kind), WOULD_BE) for kind in ("would_be", "teaching")),
        (_anywhere(text, "elsewhere"), OF_OTHERS),
        (_told_by(text), OF_OTHERS),
        (_of_lesion(text), WOULD_BE),
        (0 if "you" in text and _CONDITIONS.intersection(text) else None, WOULD_BE),
        (opens if _is_lesson(text, opens) else None, WOULD_BE),
        (opens if _is_of_a_day(text, opens) else None, OF_ANOTHER_DAY),
    ]
    told = [(at, why) for at, why in found if at is not None]
    if not told:
        return None
    at, why = min(told)
    return (_clause(text, at) if len(text) > _UNMARKED else 0), why


def _clause(text: Sequence[str], place: int) -> int:
    """Return where the clause of a word begins in speech without stops: behind a side or a comma."""
    return next((at + 1 for at in range(place - 1, -1, -1) if text[at] in {"right", "left", ","}), 0)


def _is_lesson(text: Sequence[str], opens: int) -> bool:
    """Say whether a sentence opens like one: "usually there is", "a positive drawer feels"."""
    if end := _longest(text, opens, "opening"):
        ahead = {*text[end : end + _NEAR_VERB]}
        return text[opens] != "for" or "you" in ahead
    end = _longest(text, opens, "subjects")
    verbs = (_longest(text, at, "verbs") for at in range(end, end + _NEAR_VERB))
    return bool(end) and any(verb and not _longest(text, verb, "here") for verb in verbs)


def _is_of_a_day(text: Sequence[str], opens: int) -> bool:
    if _longest(text, opens, "occasions"):
        return _anywhere(text[opens:], "past") is not None
    end = _longest(text, opens, "days")
    return bool(end) and bool(_longest(text, end, "then"))


def _of_lesion(text: Sequence[str]) -> int | None:
    """Return where "in a cruciate tear" stands, or None."""
    for at, word in enumerate(text):
        ahead = text[at + 1 : at + 2 + _NEAR_LESION]
        article = bool(ahead) and ahead[0] in {"a", "an", "any"}
        if word in {"in", "with"} and (article or at == 0) and (word == "in" or "you" in text):
            near = [each for each in ahead if _longest([each], 0, "lesions")]
            if near and "clinic" not in ahead:
                return at
    return None


def _told_by(text: Sequence[str]) -> int | None:
    for at in range(len(text)):
        end = _longest(text, at, "who")
        if end and _longest(text, end, "said"):
            return at
    return None


def _anywhere(text: Sequence[str], kind: str) -> int | None:
    return next((at for at in range(len(text)) if _longest(text, at, kind)), None)


def _longest(text: Sequence[str], place: int, kind: str) -> int:
    """Return the place behind the longest name of a kind that begins at a word, or 0."""
    return load_listed("supposed").end(text, place, kind)
