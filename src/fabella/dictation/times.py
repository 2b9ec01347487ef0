"""Ages and times among the words of a text, and the small steps with which all numbers are read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from fabella.dictation.items import Item, Quantity
from fabella.dictation.numbers import number_at, signed_number_at
from fabella.dictation.vocabulary import Lexicon, Tag
from fabella.dictation.words import Word

_HOURS = {"h": 1.0, "min": 1 / 60, "day": 24.0}
_OF_ANOTHER = {"his", "her", "their", "my", "whose"}
_DAYS = {"day": 1.0, "week": 7.0, "month": 30.0, "year": 365.0}


@dataclass(frozen=True, slots=True)
class Times:
    """Reads ages and times of one text; each method returns an item that begins at a word, or None."""

    words: Sequence[Word]
    lexicon: Lexicon
    units: dict[str, str]

    def _age(self, place: int) -> Item | None:
        found = self._plain(place)
        if found is not None:
            for names in (("year", "old"), ("yr", "old"), ("yo",), ("y", "/", "o"), ("year", "of", "age")):
                end = self._after(found[1], names)
                if end is not None:
                    item = self._item(Tag.PERSON, ("age_years", found[0]), place, end)
                    return replace(item, of=self._text(place - 1) in _OF_ANOTHER)
        if self._text(place) == "aged" and (found := self._plain(place + 1)):
            return self._item(Tag.PERSON, ("age_years", found[0]), place, found[1])
        return None

    def _ago(self, place: int) -> Item | None:
        found = self._plain(place) or ((1.0, place + 1) if self._text(place) in {"a", "an"} else None)
        if found is None:
            return None
        unit, end = self._unit(found[1])
        if unit not in _DAYS or self._text(end) not in {"ago", "earlier", "history"}:
            return None
        item = self._item(Tag.PERSON, ("onset_days", found[0] * _DAYS[unit]), place, end + 1)
        return replace(item, text=self._text(end))

    def _within(self, place: int) -> Item | None:
        start = place
        if self._text(place) in {"within", "after", "in", "inside"}:
            place += 1
            place += self._text(place) in {"about", "around"}
        found = self._plain(place)
        if found is None and start != place and self._text(place) in {"a", "an", "the"}:
            found = (1.0, place + 1)
        if found is None:
            return None
        unit, end = self._unit(found[1])
        if unit not in _HOURS or (unit == "min" and start == place):
            return None
        end += self._text(end) in {"later", "afterwards"}
        return self._item(Tag.NUMBER, Quantity(value=found[0] * _HOURS[unit], unit="h"), start, end)

    def _text(self, place: int) -> str:
        return self.words[place].text if 0 <= place < len(self.words) else ""

    def _glued(self, place: int) -> bool:
        return place < len(self.words) and self.words[place].glued

    def _plain(self, place: int) -> tuple[float, int] | None:
        return number_at(self.words, place) if place < len(self.words) else None

    def _signed(self, place: int) -> tuple[float, int] | None:
        """Return a number with its minus; a dash counts as one only where it cannot join two numbers."""
        if self._text(place) == "-" and (place + 1 >= len(self.words) or not self._glued(place + 1)):
            return None
        return signed_number_at(self.words, place)

    def _unit(self, place: int) -> tuple[str, int]:
        word = self.words[place] if place < len(self.words) else None
        unit = self.units.get(word.stem, "") if word else ""
        if unit == "deg" and self._text(place + 1) in {"c", "f", "celsius", "fahrenheit", "centigrade"}:
            return self.units[self._text(place + 1)], place + 2
        return (unit, place + 1) if unit else ("", place)

    def _no_unit(self, place: int) -> int:
        """Return how many words a measure takes in which nothing can be recorded."""
        node = self.lexicon.tree
        longest = 0
        for step, word in enumerate(self.words[place : place + 3], start=1):
            found = node.follows.get(word.stem)
            if found is None:
                break
            node = found
            if any(meaning.tag is Tag.NO_UNIT for meaning in node.meanings):
                longest = step
        return longest

    def _after(self, place: int, names: tuple[str, ...]) -> int | None:
        words = [word for word in range(place, len(self.words)) if self._text(word) != "-"][: len(names)]
        if tuple(self.words[word].stem for word in words) != names:
            return None
        return words[-1] + 1

    @staticmethod
    def _item(tag: Tag, value: Any, first: int, last: int) -> Item:
        return Item(tag=tag, value=value, first=first, last=last)
