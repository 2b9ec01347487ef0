"""Times among the words of a text, and the small steps with which all numbers are read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from fabella.dictation.items import Item, Quantity
from fabella.dictation.numbers import number_at, signed_number_at
from fabella.dictation.vocabulary import Lexicon, Tag
from fabella.dictation.words import Word

_HOURS = {"h": 1.0, "min": 1 / 60, "day": 24.0}
_ABOUT = {"about", "around", "approximately", "nearly", "over"}
_LATELY = {"the", "last", "past"}
_AGED = {"yo", "o", "old"}
_OF_COMPLAINT = {"pain", "swelling", "symptoms", "discomfort", "trouble"}
_INJURY = {"injury", "fall", "twist", "twisting", "accident", "blow"}
_NEAR = 8
ENDS_CLAUSE = {"", ".", ",", ";", ":", "\n"}
_DENY = {"no", "not", "without", "never"}
_PARTS = {"24": "h", "7": "day", "52": "week", "12": "month"}
"""A number of hours, days, weeks or months, as parts of a day, week or year: "3/7" (common practice)."""
_DAYS = {"h": 1 / 24, "day": 1.0, "week": 7.0, "month": 30.0, "year": 365.0}


@dataclass(frozen=True, slots=True)
class Times:
    """Reads times of one text; each method returns an item that begins at a word, or None."""

    words: Sequence[Word]
    lexicon: Lexicon
    units: dict[str, str]

    def _ago(self, place: int) -> Item | None:
        """Return a time since something: "three weeks ago", "over the last month", "2 days after a fall"."""
        start = place + (self._text(place) in {"for", "x", "over", "times", "since"})
        while start > place and self._text(start) in _ABOUT | _LATELY:
            start += 1
        found = self._plain(start) or ((1.0, start + 1) if self._text(start) in {"a", "an"} else None)
        if found is None:
            return None
        unit, end = self._part(found[1]) or self._unit(found[1])
        part = self._text(found[1]) == "/"
        text = self._text(end)
        if unit not in _DAYS or (unit == "h" and not part):
            return None
        if start > place and text in _AGED:
            return None
        if start > place:
            text = "for"
        elif text in {"ago", "earlier", "history", "hx"}:
            end += 1
            text = "history" if text == "hx" else text
        elif text == "of" and self._names_complaint(end + 1):
            text = "history"
        elif self._goes_back(end):
            text = "history"
            end += 1
        elif part:
            text = "for"
        else:
            return None
        item = self._item(Tag.PERSON, ("onset_days", found[0] * _DAYS[unit]), place, end)
        return replace(item, text=text)

    def _today(self, place: int) -> Item | None:
        """Return "forty minutes ago" and "two hours earlier" as the time since something."""
        found = self._plain(place)
        unit, end = self._unit(found[1]) if found else ("", place)
        if unit not in {"min", "h"} or self._text(end) not in {"ago", "earlier"}:
            return self._this_morning(place)
        return self._item(Tag.PERSON, ("yesterday", 0), place, end + 1)

    def _this_morning(self, place: int) -> Item | None:
        """Return "this morning" as the time since something: "in the morning" is none."""
        if self._text(place) != "this" or self._text(place + 1) != "morning":
            return None
        return self._item(Tag.PERSON, ("yesterday", 0), place, place + 2)

    def _part(self, slash: int) -> tuple[str, int] | None:
        """Return the unit behind the number of "3/7", "2/52", "6/12" or "4/24", and the place after it."""
        unit = _PARTS.get(self._text(slash + 1))
        glued = self._text(slash) == "/" and self._glued(slash) and self._glued(slash + 1)
        return (unit, slash + 2) if unit and glued and self.words[slash - 1].is_number else None

    def _goes_back(self, place: int) -> bool:
        """Say whether a word makes a time that since the onset: "seven weeks on", "2 days after a fall"."""
        if self._text(place) == "on":
            return self._text(place + 1) in ENDS_CLAUSE
        return self._text(place) in {"after", "following", "since"} and self._names_injury(place + 1)

    def _names_complaint(self, place: int) -> bool:
        """Say whether a complaint follows, whatever tells of it: "of worsening left medial knee pain"."""
        for at in range(place, place + _NEAR):
            if self._text(at) in _OF_COMPLAINT:
                return True
            if self._text(at) in ENDS_CLAUSE or self._text(at) in _DENY:
                return False
        return False

    def _names_injury(self, place: int) -> bool:
        return any(self._text(at) in _INJURY for at in range(place, place + _NEAR))

    def _sex(self, place: int) -> Item | None:
        """Return the letter behind an age: "72 yo F", "28M"."""
        sex = {"m": "male", "f": "female"}.get(self._text(place))
        behind = self._text(place - 1) in _AGED or (self._glued(place) and self._ages(place - 1))
        behind = behind or self._heads(place)
        return self._item(Tag.PERSON, ("sex", sex), place, place + 1) if sex and behind else None

    def _heads(self, place: int) -> bool:
        """Say whether the letter of a sex opens a sentence that is only that and a number: "F 66."."""
        if self._text(place) not in {"m", "f"} or self._text(place - 1) not in {"", ".", "\n"}:
            return False
        found = self._plain(place + 1)
        return found is not None and self._text(found[1]) in {"", ".", ",", "\n"}

    def _ages(self, place: int) -> bool:
        """Say whether a whole number opens a sentence or follows a comma or "a", as in "a 28M with …"."""
        opens = self._text(place - 1) in {"", ".", ",", ":", "\n", "a", "an", "this"}
        return opens and self.words[place].text.isdecimal()

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
