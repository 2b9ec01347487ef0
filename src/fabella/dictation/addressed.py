"""What is said to the patient during an examination: requests, questions, thanks; none of it is a finding.

Only words that stand in ``addressed.toml`` are ever put aside, and never a side: "lift your left leg for me"
still tells which knee comes next, and "bend it for me, 140" which movement was measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.dictation.listed import load_listed
from fabella.dictation.names import called, endeared
from fabella.dictation.words import Word, ends_sentence, sentence_of, text_at

_LEADS = {
    "so", "now", "and", "then", "just", "please", "okay", "ok", "right", "well", "next", "but",
    "again", "first",
}  # fmt: skip
_JOINS = {"and", "then", "so", ","}
_BREAKS = {",", "-", "...", "…"}
_PERSONS = {"you", "your", "yourself", "me", "my", "please"}
_WEAK = {"the", "a", "an", "to", "on", "of", "in", "from", "with", "by", "at", "that", "this", "one", *_JOINS}
"""Words with which no request ends."""
_REFUSING = {"won't", "wouldn't", "not", "didn't", "doesn't", "never", "would"}
"""Behind one of these an opening tells what the patient would not let be done."""
_BENDS_TO = {"to", "at"}
SIDES = {"right", "left", "both", "other"}
_BEFORE_A_SIDE = {"your", "the", "this", "that", "on", "with", "both"}
_BODY = {"leg", "knee", "foot", "feet", "side", "heel", "toe"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Addressed:
    """Words from ``first`` up to ``last`` said to the patient; ``answered`` with what was replied."""

    first: int
    last: int
    answered: bool = False


def addressed(words: Sequence[Word]) -> tuple[Addressed, ...]:
    """Return the stretches of a text that are said to the patient, in order."""
    found: list[Addressed] = []
    place = 0
    while place < len(words):
        behind = bool(found) and _is_only_breaks(words, found[-1].last, place)
        stretch = _at(words, place, behind=behind) if behind or _opens(words, place) else None
        stretch = stretch or _in_passing(words, place)
        if stretch is None:
            place += 1
        else:
            found.append(stretch)
            place = max(stretch.last, place + 1)
    return tuple(found)


def _at(words: Sequence[Word], place: int, *, behind: bool) -> Addressed | None:
    """Return what is said to the patient from the beginning of a clause on."""
    start = first = _behind_leads(words, place)
    sorry = 0 if _thanks(words, start, behind=behind) else _longest(words, start, "apologies")
    if sorry:
        start = _behind_leads(words, sorry + (text_at(words, sorry) == ","))
    if last := _courtesy(words, start):
        return Addressed(first=first, last=_answer(words, last) or last)
    last = _question(words, start) or _request(words, start)
    if text_at(words, last - 1) == "?" and (answer := _answer(words, last)):
        return Addressed(first=first, last=answer, answered=True)
    last = last or _thanks(words, start, behind=behind) or _manner(words, start, behind=behind)
    within = text_at(words, last) == "?" and text_at(words, first - 1) == ","  # "is she well, Mum?"
    return Addressed(first=first - within, last=last) if last else None


def _behind_leads(words: Sequence[Word], place: int) -> int:
    """Return the place behind the little words that lead a clause: "so just"."""
    while text_at(words, place) in _LEADS and not _ends(words, place + 1):
        place += 1
    return place


def _in_passing(words: Sequence[Word], place: int) -> Addressed | None:
    """Return a request in speech without marks: it names the patient itself, "could you stand"."""
    if text_at(words, place - 1) in _REFUSING:
        return None
    opened = _longest(words, place, "opens") or _longest(words, place, "tells")
    spoken = {word.text for word in words[place:opened]}
    if not spoken & {"you", "me"} and not (spoken & {"i'm", "i'll"} and opened > place + 1):
        return None
    last = _request(words, place)
    return Addressed(first=place, last=last) if last else None


def _request(words: Sequence[Word], place: int) -> int:
    """Return the place behind a request or announcement that begins at a word, or 0."""
    if _longest(words, place, "teaches"):
        return sentence_of(words, place)[1]
    if told := _longest(words, place, "tells"):
        return _trimmed(words, told, _run(words, told, ("felt",)))
    opened = _longest(words, place, "opens")
    return (_deed(words, opened, opened=True) if opened else 0) or _deed(words, place, opened=False)


def _deed(words: Sequence[Word], place: int, *, opened: bool) -> int:
    """Return the place behind what is asked for or announced from a word on, or 0."""
    place += text_at(words, place) in {"just", "please", "now"}
    alone = _longest(words, place, "deeds")
    deed = alone or _longest(words, place, "named_deeds") or (opened and _longest(words, place, "announced"))
    if not deed:
        return 0
    kinds = ("deeds", "named_deeds", "parts", *(("announced",) if opened else ()))
    last = _trimmed(words, deed, _run(words, deed, kinds))
    named = opened or _PERSONS.intersection(word.text for word in words[place:last])
    return last if named or (alone and last > place + 1 and _ends(words, last)) else 0


def _run(words: Sequence[Word], place: int, kinds: Sequence[str]) -> int:
    """Return the place behind the longest run of names of these kinds, with the patient's own sides."""
    while place < len(words):
        text = text_at(words, place)
        number = _number(words, place + 1) if text in _BENDS_TO else 0
        end = number or max(_longest(words, place, kind) for kind in kinds)
        if not end and text in SIDES and text_at(words, place - 1) in _BEFORE_A_SIDE:
            end = place + 1
        if not end and text in _JOINS and _goes_on(words, place + 1, kinds):
            end = place + 1
        if not end:
            break
        place = end
    return place


def _number(words: Sequence[Word], place: int) -> int:
    """Return the place behind a number that belongs to what is asked for, "up to 90 for me"; or 0."""
    if place >= len(words) or not words[place].is_number:
        return 0
    place += 1 + (text_at(words, place + 1) in {"degree", "degrees"})
    return place if text_at(words, place) in {"for", "please"} else 0


def _goes_on(words: Sequence[Word], place: int, kinds: Sequence[str]) -> bool:
    """Say whether a further deed follows a joining word: "lie back and relax"."""
    place += text_at(words, place) in _LEADS
    return any(_longest(words, place, kind) for kind in kinds if kind in {"deeds", "announced"})


def _trimmed(words: Sequence[Word], first: int, last: int) -> int:
    """Return the end of a request without little words with which none ends, and with its question mark."""
    if _ends(words, last):
        return last + (text_at(words, last) == "?")
    while last > first and (text_at(words, last - 1) in _WEAK or _is_loose_side(words, last - 1)):
        last -= 1
    return last


def _is_loose_side(words: Sequence[Word], place: int) -> bool:
    """Say whether a side, or the knee behind it, may begin what comes next: "relax the right knee …"."""
    side = place - (text_at(words, place) in _BODY)
    return text_at(words, side) in SIDES and text_at(words, side - 1) != "your"


def _question(words: Sequence[Word], place: int) -> int:
    """Return the place behind a question to the patient, or 0."""
    if last := _longest(words, place, "asks"):
        last = max(last, _run(words, last, ("parts",)))
        return last + 1 if text_at(words, last) == "?" else last if _ends(words, last) else 0
    last = _longest(words, place, "asks_briefly")
    return last + 1 if last and text_at(words, last) == "?" else 0


def _courtesy(words: Sequence[Word], place: int) -> int:
    """Return the place behind a question of courtesy, with its mark; or 0."""
    if not _longest(words, place, "courtesies"):
        return 0
    last = sentence_of(words, place)[1]
    return last + 1 if text_at(words, last) == "?" else 0


def _answer(words: Sequence[Word], place: int) -> int:
    """Return the place behind the patient's answer, a clause of its own; or 0."""
    last = _longest(words, place, "answers")
    return last if last and _ends(words, last) else 0


def _thanks(words: Sequence[Word], place: int, *, behind: bool) -> int:
    """Return the place behind thanks or praise, or what somebody is called, a clause of its own; or 0."""
    last = _longest(words, place, "thanks") or (behind and _longest(words, place, "thanks_briefly"))
    if last and not _ends(words, int(last)):
        last = called(words, int(last))
    last = last or endeared(words, place)
    return int(last) if last and _ends(words, last) and text_at(words, last) != ":" else 0


def _manner(words: Sequence[Word], place: int, *, behind: bool) -> int:
    """Return the place behind a request without a deed: "feet flat on the bed", "the left leg please"."""
    last = _run(words, place, ("parts",))
    asks = behind or text_at(words, last - 1) == "please"
    return last if asks and last > place + 1 and _ends(words, last) else 0


def _opens(words: Sequence[Word], place: int) -> bool:
    """Say whether a clause begins at a word."""
    if place and words[place].glued and words[place - 1].text == "-":
        return False  # "34-year-old man, a runner"
    if place == 0 or ends_sentence(words[place - 1]) or words[place - 1].text in _BREAKS:
        return True
    return words[place - 1].text == ":" and text_at(words, place + 1) == "it"  # "right knee: bend it fully"


def _ends(words: Sequence[Word], place: int) -> bool:
    """Say whether a clause ends before a word."""
    return place >= len(words) or ends_sentence(words[place]) or words[place].text in _BREAKS


def _is_only_breaks(words: Sequence[Word], first: int, last: int) -> bool:
    return all(ends_sentence(word) or word.text in _BREAKS for word in words[first:last])


def _longest(words: Sequence[Word], place: int, kind: str) -> int:
    """Return the place behind the longest name of a kind that begins at a word, or 0."""
    listed = load_listed("addressed")
    length = listed.length([word.text for word in words[place : place + listed.most]], kind)
    return place + length if length else 0
