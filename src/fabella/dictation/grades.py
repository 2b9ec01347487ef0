"""Grades: "grade 2", "2+", "++", "Lachman II", "1A"; what lies between two of them is doubtful."""

from __future__ import annotations

from dataclasses import replace

from fabella.dictation.items import Item
from fabella.dictation.marks import OPPOSITE
from fabella.dictation.numbers import number_at, roman_at
from fabella.dictation.sizes import Sizes
from fabella.dictation.vocabulary import Describing, Tag

POSITIVE = Describing(key="positive", says="present")
_TO = {"to", "through", "until", "till", "-"}
_HIGHEST_GRADE = 4
_LANDMARK_HEADS = {"above", "below", "proximal", "distal"}
_LANDMARK_ENDS = {"patella", "kneecap", "line", "pole", "tubercle", "joint"}
_LONGEST_LANDMARK = 7
_LEAST_HEIGHT_CM, _GREATEST_HEIGHT_CM = 4, 25  # judgement: where a girth is measured


class Grades(Sizes):
    """Reads the grades of one text; each method returns an item that begins at a word, or None."""

    def _grade(self, place: int) -> Item | None:
        word = self._text(place)
        if word.startswith("+") or word == "plus":
            return self._pluses(place)
        if word in {"grade", "gr", "gd", "degree"}:
            found = number_at(self.words, place + 1) if place + 1 < len(self.words) else None
            found = found or roman_at(self.words, place + 1)
            if found is None:
                return None
            return self._between(place, found[1]) or self._graded(int(found[0]), place, found[1], letter=True)
        if (roman := roman_at(self.words, place)) is not None and self._is_grade(place):
            return self._between(place, roman[1]) or self._graded(int(roman[0]), place, roman[1], letter=True)
        found = number_at(self.words, place)
        if found is None:
            return None
        value, end = found
        if self._text(end) in {"+", "plus"} and value == int(value) <= _HIGHEST_GRADE:
            return self._between(place, end + 1) or self._graded(int(value), place, end + 1)
        if self._is_feel(end) and value == int(value) <= _HIGHEST_GRADE:
            return self._graded(int(value), place, end, letter=True)
        return None

    def _pluses(self, place: int) -> Item | None:
        """Return "+", "++" or "plus plus"; one plus in writing is only positive."""
        word, end = self._text(place), place + 1
        if word == "plus":
            while self._text(end) == "plus":
                end += 1
            return self._graded(end - place, place, end)
        if self._text(end) == "ve":
            return None
        if word == "+":
            return self._item(Tag.DESCRIBING, POSITIVE, place, end)
        return self._graded(len(word), place, end)

    def _is_grade(self, place: int) -> bool:
        """Say whether a Roman numeral is a grade by itself: of "I", which may be the speaker, only "I°"."""
        return self._text(place) != "i" or (self._glued(place + 1) and self._text(place + 1) == "°")

    def _between(self, place: int, end: int) -> Item | None:
        """Return "grade 2 to 3" and "4+ out of 5" as something doubtful: no scale has a place between."""
        while self._text(end) in {"+", "plus"}:
            end += 1
        after = end + 1
        if self._text(end) == "out" and self._text(after) == "of":
            after += 1
        elif self._text(end) not in {*_TO, "/", "or"}:
            return None
        following = self._plain(after) or roman_at(self.words, after) if after < len(self.words) else None
        if following is None:
            return None
        stop = following[1]
        while self._text(stop) in {"+", "plus"}:
            stop += 1
        if self._text(end) == "/" and self._is_shared_out(place, stop):
            return None
        return self._item(Tag.MARK, "hedge", place, stop)

    def _is_shared_out(self, place: int, end: int) -> bool:
        """Say whether "right/left" stands before two grades, or behind them: one for each knee."""
        before = [place - 1 - (self._text(place - 1) == ":") - step for step in (2, 1, 0)]
        beside = [[self._text(at) for at in row] for row in (before, range(end, end + 3))]
        return any(slash == "/" and {one, two} in OPPOSITE for one, slash, two in beside)

    def _is_feel(self, place: int) -> bool:
        """Say whether a letter tells the end point: written "2B", or said "two b" before a pause."""
        said = self._glued(place) or self._text(place + 1) in {"", ",", ".", ";", "\n"}
        return self._text(place) in {"a", "b"} and said

    def _graded(self, grade: int, place: int, end: int, *, letter: bool = False) -> Item | None:
        if grade > _HIGHEST_GRADE:
            return None
        feel = ""
        if letter and self._is_feel(end):
            feel = "firm" if self._text(end) == "a" else "soft"
            end += 1
        end += letter and self._text(end) == "°"
        if self._text(end) in {"+", "plus"} and place + 1 < end:
            end += 1
        key = f"{grade}+" if grade else "0"
        says = "present" if grade else "absent"
        value = Describing(key=key, says=says, grade=grade, end_point=feel)
        return self._item(Tag.DESCRIBING, value, place, end)

    def _landmark(self, place: int) -> Item | None:
        found = self._plain(place)
        if found is None:
            return None
        unit, end = self._unit(found[1])
        high = _LEAST_HEIGHT_CM <= found[0] <= _GREATEST_HEIGHT_CM  # "ten above the patella"
        if (
            not (unit in {"cm", "mm", "inch"} or (high and not unit))
            or self._text(end) not in _LANDMARK_HEADS
        ):
            return None
        for last in range(end + 1, min(len(self.words), end + _LONGEST_LANDMARK)):
            following = self._text(last + 1)
            if self.words[last].stem in _LANDMARK_ENDS and following not in _LANDMARK_ENDS | {"of"}:
                text = " ".join(word.text for word in self.words[place : last + 1])
                return replace(self._item(Tag.LANDMARK, "", place, last + 1), text=text)
        return None
