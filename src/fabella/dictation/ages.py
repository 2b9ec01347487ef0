"""The age of the patient, and where the patient is seen, among the words of a text."""

from __future__ import annotations

from dataclasses import replace

from fabella.dictation.items import Item
from fabella.dictation.times import ENDS_CLAUSE, Times
from fabella.dictation.vocabulary import Tag
from fabella.dictation.words import sentence_of
from fabella.record import Setting

_OF_ANOTHER = {"his", "her", "their", "my", "whose"}
_PERSONS = {"he", "she", "who", "patient", "man", "woman", "gentleman", "lady", "boy", "girl", "lad", "chap"}
_WHO = (_PERSONS - {"he", "she", "who", "patient"}) | {
    "male", "female", "child", "teenager", "student", "player", "runner", "jogger", "footballer", "skier",
    "dancer", "gymnast", "swimmer", "cyclist", "athlete", "sprinter", "rower", "climber", "wrestler",
}  # fmt: skip
_FAMILY = {
    "son", "daughter", "brother", "sister", "father", "mother", "dad", "mum", "wife", "husband", "uncle",
    "aunt", "cousin", "twin", "neighbour", "friend",
}  # fmt: skip
_TWO_DIGITS = 10
_ROUGHLY = {"about", "around", "roughly"}
_BEHIND_AGE = {"with", "who", "whose", "and", "("}
_EMERGENCY = (
    ("emergency", "department"), ("emergency", "room"), ("accident", "and", "emergency"), ("casualty",),
    ("a", "&", "e"), ("a&e",), ("ed",),
)  # fmt: skip
_SETTINGS = (
    (Setting.PRIMARY_CARE, (("gp", "clinic"), ("gp", "surgery"), ("general", "practice"))),
    (Setting.SPORTS_CLINIC, (("sports", "clinic"), ("sports", "medicine", "clinic"), ("sport", "clinic"))),
    (
        Setting.SPECIALIST_CLINIC,
        (
            ("specialist", "clinic"), ("orthopaedic", "clinic"), ("orthopedic", "clinic"), ("knee", "clinic"),
            ("second", "opinion", "clinic"),
        ),
    ),
)  # fmt: skip
_IN_A_YEAR = {"year": 1.0, "month": 12.0, "week": 365.25 / 7, "day": 365.25}
_WEIGHTS = {
    "kg", "kilo", "kilos", "kilogram", "kilograms", "stone", "lb", "lbs", "pounds", "foot", "feet", "ft",
}  # fmt: skip


class Ages(Times):
    """Reads ages of one text; each method returns an item that begins at a word, or None."""

    __slots__ = ()

    def _age(self, place: int) -> Item | None:
        found = self._plain(place)
        if found is not None:
            for names in (("year", "old"), ("yr", "old"), ("yo",), ("y", "/", "o"), ("year", "of", "age")):
                end = self._after(found[1], names)
                if end is not None:
                    item = self._item(Tag.PERSON, ("age_years", found[0]), place, end)
                    return replace(item, of=self._text(place - 1) in _OF_ANOTHER)
            if self._ages(place) and self._text(found[1]) in {"m", "f"} and self._glued(found[1]):
                return self._item(Tag.PERSON, ("age_years", found[0]), place, found[1])
            if self._heads(place - 1) and self._text(found[1]) in ENDS_CLAUSE:
                return self._item(Tag.PERSON, ("age_years", found[0]), place, found[1])  # "F 66."
            if self._is_of_a_person(place) and self._text(found[1]) in {*ENDS_CLAUSE, "and"}:
                return self._item(Tag.PERSON, ("age_years", found[0]), place, found[1])
        if self._text(place) == "aged" and (found := self._plain(place + 1)):
            unit, end = self._unit(found[1])
            told = unit in _IN_A_YEAR
            value, last = (_years(found[0], unit), end) if told else found
            return self._item(Tag.PERSON, ("age_years", value), place, last)
        return self._age_of_a_person(place)

    def _age_of_a_person(self, place: int) -> Item | None:
        """Return an age right behind who it is: "man of 54 fell", "boy of 9 months", "runner, 19, fell"."""
        before = self._text(place - 1)
        found = self._plain(place + (self._text(place) in _ROUGHLY))
        right_behind = before in _WHO and self._is_bare(found)  # "woman 58, …"
        if found is None or not (right_behind or (before in {"of", ","} and self._is_who(place - 1))):
            return None
        unit, end = self._unit(found[1])
        comma = before == ","
        if unit in _IN_A_YEAR and not comma:
            found = _years(found[0], unit), end
        elif unit or not self._ends_bare(found[1], comma=comma):
            return None
        item = self._item(Tag.PERSON, ("age_years", found[0]), place, found[1])
        return replace(item, of=self._is_a_relative(place))

    def _is_bare(self, found: tuple[float, int] | None) -> bool:
        """Say whether a number of two digits ends its clause, as an age does that has no more words."""
        return found is not None and found[0] >= _TWO_DIGITS and self._text(found[1]) in ENDS_CLAUSE

    def _is_who(self, place: int) -> bool:
        """Say whether who it is stands before a comma, or "here" behind it: "I've a chap here, 47, …"."""
        return self._text(place - 1 - (self._text(place - 1) == "here")) in _WHO

    def _ends_bare(self, place: int, *, comma: bool) -> bool:
        """Say whether no measure follows a number, nor another number with which it makes a range."""
        after = self._text(place)
        if comma or not after.isalpha():
            return after in ENDS_CLAUSE | _BEHIND_AGE or (after == "-" and not self._glued(place))
        return after not in _WEIGHTS and after != "to" and not self._no_unit(place)

    def _department(self, place: int) -> Item | None:
        """Return where the patient is seen: "GP clinic" as a clause of its own, an emergency opens the text.

        Elsewhere "the emergency department" may be where somebody else saw the patient.
        """
        if self._text(place - 1) not in ENDS_CLAUSE:
            return None
        for setting, kinds in _SETTINGS if place else ((Setting.EMERGENCY, _EMERGENCY), *_SETTINGS):
            told = next((end for names in kinds if (end := self._follow(place, names))), None)
            if told is not None and self._text(told) in ENDS_CLAUSE:
                return self._item(Tag.PERSON, ("setting", setting.value), place, told)
        return None

    def _follow(self, place: int, names: tuple[str, ...]) -> int | None:
        here = tuple(self._text(place + step) for step in range(len(names)))
        return place + len(names) if here == names else None

    def _is_a_relative(self, place: int) -> bool:
        """Say whether somebody of the family is named before in its sentence: "his brother, a man of 50"."""
        start, _ = sentence_of(self.words, place)
        return any(word.text in _FAMILY for word in self.words[start:place])

    def _is_of_a_person(self, place: int) -> bool:
        """Say whether it is told of the patient alone: "this gentleman is 42", "she's 31"."""
        if self._text(place - 1) in {"is", "who's"}:
            return self._text(place - 1) == "who's" or self._text(place - 2) in _PERSONS
        return self._text(place - 1) in {"he's", "she's"}


def _years(number: float, unit: str) -> float:
    """Return an age told in years, months, weeks or days in years."""
    return round(number / _IN_A_YEAR[unit], 2)
