"""The stems of a text as the lexicon spells them: slips of the ear put right, each with its words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.dictation.vocabulary import Lexicon
from fabella.dictation.words import Word, text_at

_LONGEST_SLIP = 4
SIDES = {"right", "left", "r", "l", "rt", "lt"}
_BEFORE_SIDES = {
    "the",
    "his",
    "her",
    "their",
    "behind",
    "on",
    "onto",
    "dislocated",
    "lift",
    "raise",
    "straighten",
}
_SIDES = {"r", "l"}
_ROOTS = ("1", "2", "3", "4", "5")
_STRAIGHT_ON = {"-", "to", "/"}


@dataclass(frozen=True, slots=True)
class Token:
    """A stem as the lexicon spells it, and the words that it stands for."""

    stem: str
    first: int
    last: int


def tokens_of(words: Sequence[Word], lexicon: Lexicon) -> list[Token]:
    """Return the tokens of a text in order."""
    tokens: list[Token] = []
    place = 0
    while place < len(words):
        for length in range(min(_LONGEST_SLIP, len(words) - place), 0, -1):
            said = tuple(word.stem for word in words[place : place + length])
            if said in lexicon.slips:
                tokens.extend(Token(meant, place, place + length) for meant in lexicon.slips[said])
                break
        else:
            length = 1
            tokens.append(Token(words[place].stem, place, place + 1))
        place += length
    return tokens


def abbreviated(words: Sequence[Word], place: int) -> int:
    """Return the place after letters that name no side, though they hold R or L: "r/v", "L5"; or 0."""
    word, after = words[place], words[place + 1] if place + 1 < len(words) else None
    if len(word.text) > 1 or not word.text.isalpha() or after is None or not after.glued:
        return 0
    if word.text == "l" and after.text in _ROOTS and not _is_range(words, place + 2):
        return place + 2
    letter = words[place + 2] if place + 2 < len(words) else None
    if after.text != "/" or letter is None or not letter.glued or len(letter.text) > 1:
        return 0
    return place + 3 if letter.text.isalpha() and not {word.text, letter.text} <= _SIDES else 0


def _is_range(words: Sequence[Word], place: int) -> bool:
    """Say whether a number goes on as a range, a grade or a reading: "L5-130", "L2+", "L 5 mm"."""
    after = words[place] if place < len(words) else None
    if after is None:
        return False
    further = text_at(words, place + 1)
    goes_on = after.text in _STRAIGHT_ON and further.isdecimal() and len(further) > 1
    return goes_on or after.text.startswith("+") or after.text in {"mm", "deg", "°", "degrees", "plus"}


def is_led_side(token: Token, words: Sequence[Word]) -> bool:
    """Say whether a side stands inside a name: "behind the left knee"."""
    return token.stem in SIDES and words[token.first - 1].text in _BEFORE_SIDES
