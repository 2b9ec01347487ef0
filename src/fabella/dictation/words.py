"""The words of a dictated text, each with its place: one spelling for each, nothing understood yet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_DASHES = "\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{FIGURE DASH}–—−"
_SAME_CHARACTER = str.maketrans(
    {**dict.fromkeys(_DASHES, "-"), "’": "'", "‘": "'", "`": "'", "º": "°", "×": "x"}
)
_ENDS_SENTENCE = ".;!?"
_SHORTEST_PLURAL = 4
_LONGEST_NUMBER = 8
_NO_PLURAL = ("ss", "us", "is")
_SPOKEN = {
    ("full", "stop"): ".", ("comma",): ",", ("colon",): ":", ("semicolon",): ";", ("semi", "colon"): ";",
    ("question", "mark"): "?", ("new", "line"): "\n", ("next", "line"): "\n", ("newline",): "\n",
    ("new", "paragraph"): "\n", ("next", "paragraph"): "\n",
    ("open", "bracket"): "(", ("open", "brackets"): "(",
    ("close", "bracket"): ")", ("close", "brackets"): ")",
}  # fmt: skip
"""Marks that are dictated as words. A "period" and a "dash" are also other things, and are not here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """One word, number or mark of the text.

    ``text`` is in lower case with plain hyphens and without a possessive; ``stem`` also without a plural;
    ``glued`` says that nothing, not even a blank, stands before it, ``capital`` that a capital letter opens
    it, and ``possessive`` that an "'s" was left out of it.
    """

    start: int
    end: int
    text: str
    glued: bool
    capital: bool = False
    possessive: bool = False

    @property
    def stem(self) -> str:
        """Return the word in the singular."""
        return stem(self.text)

    @property
    def is_number(self) -> bool:
        """Whether it is a number written in digits; longer ones are no reading of anything."""
        one_point = self.text.count(".") <= 1  # "38.6.10" is none
        return self.text[0].isdecimal() and len(self.text) <= _LONGEST_NUMBER and one_point

    @property
    def is_plural(self) -> bool:
        """Whether it has an s that its stem has not, and that is not that of a verb."""
        return self.text not in {"moves", "rotates"} and self.text != self.stem


def split(text: str) -> tuple[Word, ...]:
    """Return every word, number and mark of a text; only blanks are left out, line breaks are marks."""
    words: list[Word] = []
    for start, end in _runs(text):
        glued = bool(words) and words[-1].end == start
        piece = text[start:end]
        plain, owns = _plain(piece), piece.translate(_SAME_CHARACTER).casefold().endswith("'s")
        word = Word(
            start=start, end=end, text=plain, glued=glued, capital=piece[0].isupper(), possessive=owns
        )
        words.append(word)
        _end_with_mark(words)
    return tuple(words)


def _end_with_mark(words: list[Word]) -> None:
    """Put the mark in the place of the last words where they dictate one: "full stop"."""
    for length in (2, 1):
        spoken = words[-length:]
        mark = _SPOKEN.get(tuple(word.text for word in spoken))
        if mark is not None:
            words[-length:] = [Word(start=spoken[0].start, end=spoken[-1].end, text=mark, glued=False)]
            return


def text_at(words: Sequence[Word], place: int) -> str:
    """Return the text of the word at a place; empty before the first and behind the last."""
    return words[place].text if 0 <= place < len(words) else ""


def stem(word: str) -> str:
    """Return a word without the s of the plural or of the third person."""
    ends = len(word) >= _SHORTEST_PLURAL and word.endswith("s") and not word.endswith(_NO_PLURAL)
    return word[:-1] if ends else word


def ends_sentence(word: Word) -> bool:
    """Say whether a mark ends what was said; a line break does."""
    return word.text in _ENDS_SENTENCE or word.text == "\n"


def sentence_of(words: Sequence[Word], place: int) -> tuple[int, int]:
    """Return the bounds of the sentence in which a word stands, without its mark."""
    start = next((at for at in range(place, 0, -1) if ends_sentence(words[at - 1])), 0)
    end = next((at for at in range(place, len(words)) if ends_sentence(words[at])), len(words))
    return start, end


def between_stops(words: Sequence[Word], aside: Sequence[tuple[int, int]] = ()) -> Iterator[tuple[int, int]]:
    """Yield the bounds of what is said between stops, none of them empty; what is ``aside`` parts it too."""
    out = {place for first, last in aside for place in range(first, last)}
    start: int | None = None
    for place, word in enumerate(words):
        if place in out or ends_sentence(word):
            if start is not None:
                yield start, place
            start = None
        elif start is None:
            start = place
    if start is not None:
        yield start, len(words)


def _plain(piece: str) -> str:
    plain = piece.translate(_SAME_CHARACTER).casefold()
    return plain.removesuffix("'s").strip("'") or plain


def _runs(text: str) -> Iterator[tuple[int, int]]:
    """Yield the bounds of letters, numbers, runs of plus signs or full stops, and single marks."""
    plain = text.translate(_SAME_CHARACTER)
    start = 0
    while start < len(plain):
        end = start + 1
        character = plain[start]
        if character.isalpha():
            while end < len(plain) and (plain[end].isalpha() or _joins_letters(plain, end)):
                end += 1
        elif character.isdecimal():
            while end < len(plain) and (plain[end].isdecimal() or _joins_digits(plain, end)):
                end += 1
        elif character in "+.":
            while end < len(plain) and plain[end] == character:
                end += 1
        elif character.isspace() and character != "\n":
            start = end
            continue
        yield start, end
        start = end


def _joins_letters(text: str, place: int) -> bool:
    return text[place] == "'" and place + 1 < len(text) and text[place + 1].isalpha()


def _joins_digits(text: str, place: int) -> bool:
    return text[place] == "." and place + 1 < len(text) and text[place + 1].isdecimal()
