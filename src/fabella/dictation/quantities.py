"""Numbers in their company: grades, readings with a unit, ranges, angles, ages, times and landmarks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fabella.dictation.items import Item, Quantity, Stretch
from fabella.dictation.lexicon import Describing, Lexicon, Tag
from fabella.dictation.numbers import number_at, roman_at, signed_number_at
from fabella.dictation.words import Word

_TO = {"to", "through", "until", "till", "-"}
_BENDS_DEG = (0, 15, 20, 25, 30, 45, 60, 70, 80, 90)
_HIGHEST_GRADE = 4
_LANDMARK_HEADS = {"above", "below", "proximal", "distal"}
_LANDMARK_ENDS = {"patella", "line", "pole", "tubercle", "joint"}
_LONGEST_LANDMARK = 7
_HOURS = {"h": 1.0, "min": 1 / 60, "day": 24.0}
_DAYS = {"day": 1.0, "week": 7.0, "month": 30.0, "year": 365.0}


@dataclass(frozen=True, slots=True)
class Numbers:
    """Reads the numbers of one text; each method returns an item that begins at a word, or None."""

    words: Sequence[Word]
    lexicon: Lexicon
    units: dict[str, str]

    def at(self, place: int) -> Item | None:
        """Return the longest thing that a number at this word belongs to."""
        readers = (
            self._age, self._ago, self._within, self._angle, self._grade, self._stretch, self._landmark, self._reading,
        )  # fmt: skip
        return next((item for read in readers if (item := read(place)) is not None), None)

    # ------------------------------------------------------------------ of the knee

    def _grade(self, place: int) -> Item | None:
        word = self._text(place)
        if word.startswith("+"):
            return None if self._text(place + 1) == "ve" else self._graded(len(word), place, place + 1)
        if word == "plus":
            end = place
            while self._text(end) == "plus":
                end += 1
            return self._graded(end - place, place, end)
        if word in {"grade", "gr", "degree"}:
            found = number_at(self.words, place + 1) if place + 1 < len(self.words) else None
            found = found or roman_at(self.words, place + 1)
            return self._graded(int(found[0]), place, found[1], letter=True) if found else None
        found = number_at(self.words, place)
        if found is None:
            return None
        value, end = found
        if self._text(end) in {"+", "plus"} and value == int(value) <= _HIGHEST_GRADE:
            return self._graded(int(value), place, end + 1)
        if self._text(end) in {"a", "b"} and self._glued(end) and value <= _HIGHEST_GRADE:
            return self._graded(int(value), place, end, letter=True)
        return None

    def _graded(self, grade: int, place: int, end: int, *, letter: bool = False) -> Item | None:
        if grade > _HIGHEST_GRADE:
            return None
        feel = ""
        if letter and self._text(end) in {"a", "b"} and self._glued(end):
            feel = "firm" if self._text(end) == "a" else "soft"
            end += 1
        if self._text(end) in {"+", "plus"} and place + 1 < end:
            end += 1
        key = f"{grade}+" if grade else "0"
        says = "present" if grade else "absent"
        value = Describing(key=key, says=says, grade=grade, end_point=feel)
        return self._item(Tag.DESCRIBING, value, place, end)

    def _stretch(self, place: int) -> Item | None:
        low = self._straight(place) or self._signed(place)
        if low is None:
            return None
        first, end = low
        unit, after = self._unit(end)
        beyond = self._beyond(after)
        if beyond is not None:
            after = beyond
        if self._text(after) not in _TO:
            return None
        high = number_at(self.words, after + 1) if after + 1 < len(self.words) else None
        if high is None:
            return None
        second, stop = high
        last_unit, stop = self._unit(stop)
        if self._text(stop) == "-" and second == 0 and (third := self._plain(stop + 1)):
            closing, stop = self._unit(third[1])
            value = Stretch(low=-abs(first), high=third[0], unit=closing or "deg")
            return self._item(Tag.RANGE, value, place, stop)
        if self._text(stop) == "-" and first == 0 and (third := self._plain(stop + 1)):
            closing, stop = self._unit(third[1])
            return self._item(
                Tag.RANGE, Stretch(low=second, high=third[0], unit=closing or "deg"), place, stop
            )
        minus = first < 0 and beyond is None
        low_deg = -abs(first) if beyond is not None else first
        value = Stretch(low=low_deg, high=second, unit=last_unit or unit, minus=minus)
        return self._item(Tag.RANGE, value, place, stop)

    def _straight(self, place: int) -> tuple[float, int] | None:
        """Return nought for "full extension", where a range begins with it."""
        if self._text(place) == "full" and self._text(place + 1) == "extension" and self._text(place + 2) in _TO:
            return 0.0, place + 2
        return (0.0, place + 1) if self._text(place) == "straight" and self._text(place + 1) in _TO else None

    def _beyond(self, place: int) -> int | None:
        """Return the place after "of hyperextension", or None."""
        after = place + 1 if self._text(place) == "of" else place
        return after + 1 if self._text(after) in {"hyperextension", "recurvatum", "hyper"} else None

    def _angle(self, place: int) -> Item | None:
        start = place
        if self._text(place) in {"at", "in"}:
            place += 1
        elif not (self._text(place) == "/" and self._is_degrees(place + 1)):
            return None
        else:
            place += 1
        if self._text(place) in {"both", "about", "around"}:
            place += 1
        bends: list[float] = []
        while (found := self._bend(place)) is not None:
            bend, end = found
            bends.append(bend)
            joined = self._text(end) in {"and", "&", "/", "or", ","} and self._bend(end + 1) is not None
            place = end + 1 if joined else end
            if not joined:
                return self._item(Tag.ANGLE, tuple(bends), start, place)
        return None

    def _bend(self, place: int) -> tuple[float, int] | None:
        found = self._plain(place)
        if found is None:
            return None
        value, end = found
        if self._text(end) in _TO and (upper := self._plain(end + 1)) and upper[0] in _BENDS_DEG:
            value, end = upper
        unit, end = self._unit(end)
        if value not in _BENDS_DEG or unit not in {"", "deg"}:
            return None
        if self._text(end) in {"+", "plus"}:
            return None
        after = end + 1 if self._text(end) == "of" else end
        return value, after + 1 if self._text(after) == "flexion" else end

    def _is_degrees(self, place: int) -> bool:
        found = self._plain(place)
        return found is not None and self._unit(found[1])[0] == "deg"

    def _landmark(self, place: int) -> Item | None:
        found = self._plain(place)
        if found is None:
            return None
        unit, end = self._unit(found[1])
        if unit not in {"cm", "mm"} or self._text(end) not in _LANDMARK_HEADS:
            return None
        for last in range(end + 1, min(len(self.words), end + _LONGEST_LANDMARK)):
            following = self._text(last + 1)
            if self.words[last].stem in _LANDMARK_ENDS and following not in _LANDMARK_ENDS | {"of"}:
                return self._item(Tag.LANDMARK, "", place, last + 1)
        return None

    def _reading(self, place: int) -> Item | None:
        found = self._signed(place)
        if found is None:
            return None
        value, end = found
        slash = self._text(end) == "/" and self._glued(end) and self._glued(end + 1)
        out_of = self._plain(end + 1) if slash else None
        if self._text(end) == "out" and self._text(end + 1) == "of":
            out_of = self._plain(end + 2)
        if out_of:
            return self._item(
                Tag.NUMBER, Quantity(value=value, out_of=int(out_of[0])), place, out_of[1]
            )
        unit, stop = self._unit(end)
        if not unit and self._no_unit(end):
            return self._item(Tag.NO_UNIT, self._text(end), place, end + self._no_unit(end))
        return self._item(Tag.NUMBER, Quantity(value=value, unit=unit), place, stop)

    # ------------------------------------------------------------------ of the person

    def _age(self, place: int) -> Item | None:
        found = self._plain(place)
        if found is not None:
            for names in (("year", "old"), ("yr", "old"), ("yo",), ("y", "/", "o"), ("year", "of", "age")):
                end = self._after(found[1], names)
                if end is not None:
                    return self._item(Tag.PERSON, ("age_years", found[0]), place, end)
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
        return self._item(Tag.PERSON, ("onset_days", found[0] * _DAYS[unit]), place, end + 1)

    def _within(self, place: int) -> Item | None:
        start = place
        if self._text(place) in {"within", "after", "in", "inside"}:
            place += 1
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

    # ------------------------------------------------------------------ pieces

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
