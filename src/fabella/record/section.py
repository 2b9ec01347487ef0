"""One object of a file while it is read: every getter returns the value, or None and a noted problem."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from enum import StrEnum
from typing import TypeVar

from fabella.anatomy import Side
from fabella.errors import InputError, Problems, suggestion
from fabella.record.jsontext import Keyed, Unreal, is_unicode, kind, parse, shown
from fabella.record.layout import DATE, WORDS

Choice = TypeVar("Choice", bound=StrEnum)
T = TypeVar("T")

_HELPED = 200  # problems; a file with more was not typed by hand


class Notes:
    """The problems met so far, in the order in which they were met."""

    def __init__(self) -> None:
        self.problems = Problems()

    @property
    def many(self) -> bool:
        """Whether there are so many that looking for the nearest right name takes longer than it helps."""
        return len(self.problems) >= _HELPED

    def nearest(self, name: str, allowed: Iterable[str]) -> str:
        """Return a remedy for a wrong name, unless there are too `many` problems."""
        return "" if self.many else suggestion(name, allowed)

    def add(self, place: str, value: object, says: str, remedy: str = "", *, missing: bool = False) -> None:
        """Note one problem; ``missing`` when there is no value to show."""
        self.problems.add(place, "" if missing else shown(value), says, remedy)


class Section:
    """One object of the file, at ``place`` (empty for the whole file), in which only ``keys`` may stand.

    A key that is null counts as absent. What is no object is noted, once, and ``is_object`` is false.
    """

    def __init__(self, value: object, *, place: str, keys: Iterable[str] | None, notes: Notes) -> None:
        self.place = place
        self.notes = notes
        self._values: dict[str, object] = {}
        self.is_object = isinstance(value, Keyed)
        if not isinstance(value, Keyed):
            notes.add(
                place or "the file", value, f"is {kind(value)}, not an object", 'write {"key": value, …}'
            )
            return
        self._values = value
        for key in value.twice:
            notes.add(self.at(key), key, "stands here more than once", "keep one")
        if keys is None:
            return
        allowed = tuple(keys)
        for key in value:
            if key not in allowed:
                notes.add(self.at(key), key, "is not a key of this format", notes.nearest(key, allowed))

    def at(self, key: str) -> str:
        """Return the place of a key."""
        key = shown(key) or '""'
        return f"{self.place}.{key}" if self.place else key

    def __iter__(self) -> Iterator[str]:
        """Yield the keys that stand here, in the order of the file."""
        return iter(self._values)

    def given(self, key: str) -> bool:
        """Return whether the key stands here with anything but null."""
        return self.raw(key) is not None

    def raw(self, key: str) -> object:
        """Return what stands under a key, unchecked; None when nothing does."""
        return self._values.get(key)

    def wrong(self, key: str, says: str, remedy: str = "") -> None:
        """Note that what stands under a key is wrong, or that nothing stands there."""
        self.notes.add(self.at(key), self.raw(key), says, remedy, missing=not self.given(key))

    def require(self, key: str, remedy: str = "") -> None:
        """Note a key that has to stand here and does not."""
        if not self.given(key):
            self.wrong(key, "is missing", remedy)

    def text(self, key: str, pattern: str) -> str | None:
        """Return a text that matches one of the patterns of `limits`."""
        value = self._of(key, str, "text")
        if value is None:
            return None
        if not value.strip():
            self.wrong(key, "is blank", f"write {WORDS[pattern]}, or leave it out")
        elif not re.search(pattern, value) or not is_unicode(value):
            self.wrong(key, f"is not {WORDS[pattern]}")
        else:
            return value
        return None

    def boolean(self, key: str) -> bool | None:
        """Return true or false."""
        return self._of(key, bool, "true or false")

    def number(self, key: str, low: float, high: float, unit: str) -> float | None:
        """Return a number from ``low`` to ``high``, both allowed."""
        value = self.raw(key)
        allowed = f"allowed: {low:g} to {high:g} {unit}".rstrip()
        if value is None:
            return None
        if isinstance(value, Unreal):
            self.wrong(key, "is no finite number", allowed)
        elif isinstance(value, bool) or not isinstance(value, int | float):
            self.wrong(key, f"is {kind(value)}, not a number", allowed)
        elif value < low:
            self.wrong(key, "is too low", allowed)
        elif value > high:
            self.wrong(key, "is too high", allowed)
        else:
            return float(value) + 0.0  # -0.0 becomes 0.0
        return None

    def choice(self, key: str, choices: type[Choice]) -> Choice | None:
        """Return the member of an enumeration that the text names."""
        word = self.word(key, [each.value for each in choices])
        return None if word is None else choices(word)

    def word(self, key: str, allowed: Iterable[str]) -> str | None:
        """Return a text that is one of those allowed."""
        value = self._of(key, str, "text")
        names = tuple(allowed)
        if value is None or value in names:
            return value
        self.wrong(key, "is not allowed here", self.notes.nearest(value, names))
        return None

    def day(self, key: str, *, until: date, beyond: str) -> date | None:
        """Return a day; one after ``until`` is refused for the reason ``beyond``."""
        written = self.text(key, DATE)
        if written is None:
            return None
        try:
            day = date.fromisoformat(written)
        except ValueError:
            self.wrong(key, "is no day of the calendar", f"write {WORDS[DATE]}")
            return None
        if day > until:
            self.wrong(key, beyond, f"allowed: up to {until}")
            return None
        return day

    def sides(self, key: str) -> tuple[Side, ...]:
        """Return a list of sides, each at most once."""
        sides: list[Side] = []
        for place, written in enumerate(self.members(key)):
            at = f"{self.at(key)}[{place}]"
            if not isinstance(written, str) or written not in list(Side):
                self.notes.add(at, written, "is no side", self.notes.nearest(str(written), Side))
            elif written in sides:
                self.notes.add(at, written, "stands here more than once", "keep one")
            else:
                sides.append(Side(written))
        return tuple(sides)

    def members(self, key: str) -> list[object]:
        """Return the members of a list; none when it is absent."""
        return self._of(key, list, "a list") or []

    def _of(self, key: str, wanted: type[T], words: str) -> T | None:
        value = self.raw(key)
        if value is None or isinstance(value, wanted):
            return value
        self.wrong(key, f"is {kind(value)}, not {words}")
        return None


def read_object(
    text: str | bytes, make: Callable[[Section], T | None], *, keys: Iterable[str], line: int = 1
) -> T:
    """Return what is made of the one object that a text of JSON holds.

    Raises `InputError` with every problem that was noted meanwhile, also where something was made of it;
    ``line`` is the number of the text's first line.
    """
    notes = Notes()
    top = Section(parse(text, line=line), place="", keys=keys, notes=notes)
    made = make(top) if top.is_object else None
    if notes.problems or made is None:
        raise InputError(notes.problems)
    return made
