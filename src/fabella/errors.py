"""What can go wrong, and how it is said: every problem at once, with its place and its remedy."""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Self

_LISTED = 12  # longer lists of allowed names are cut, to keep a message readable


class FabellaError(Exception):
    """Anything Fabella refuses to do; its text is fit to show to the user as it stands."""


class UsageError(FabellaError):
    """A command was asked for something it cannot do."""


class EvidenceError(FabellaError):
    """An evidence table contradicts itself, its source or the protocol."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong with an input.

    Parameters
    ----------
    place
        Where it stands, as the writer of the input would find it: ``right.flexion_deg``, ``row 7``.
    value
        What stands there, as text; empty when something is missing.
    says
        What is wrong with it, to be read after the value: ``is above the limit of 160``.
    remedy
        What would be right: ``use degrees from 0 to 160``; empty when nothing helpful can be said.
    """

    place: str
    value: str = ""
    says: str
    remedy: str

    def __str__(self) -> str:
        """Return the problem on one line."""
        value = f"'{self.value}' " if self.value else ""
        remedy = f"; {self.remedy}" if self.remedy else ""
        return f"{self.place}: {value}{self.says}{remedy}"


class InputError(FabellaError):
    """An input holds one or more problems, all of which are listed.

    Parameters
    ----------
    problems
        At least one, in the order in which the reader meets them.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        if not self.problems:
            raise ValueError("an InputError needs at least one problem")
        super().__init__(self.problems)

    @classmethod
    def of(cls, *, place: str, value: str = "", says: str, remedy: str) -> Self:
        """Return the error of one `Problem`."""
        return cls([Problem(place=place, value=value, says=says, remedy=remedy)])

    def __str__(self) -> str:
        """Return every problem, one a line."""
        return "\n".join(map(str, self.problems))


class Problems(list[Problem]):
    """The problems a reader has met so far, in that order; whoever reads to the end raises them together."""

    def add(self, place: str, value: str, says: str, remedy: str) -> None:
        """Add one `Problem`, told in the order in which it is read."""
        self.append(Problem(place=place, value=value, says=says, remedy=remedy))

    def raise_any(self) -> None:
        """Raise `InputError` with all of them, or nothing when there are none."""
        if self:
            raise InputError(self)


def suggestion(name: str, allowed: Iterable[str]) -> str:
    """Return a remedy for a wrong name: the nearest allowed one, or the allowed ones when none is near."""
    names = tuple(allowed)
    by_folded = {each.casefold(): each for each in names}
    if near := get_close_matches(name.casefold(), by_folded, n=1):
        return f"did you mean '{by_folded[near[0]]}'?"
    if not names:
        return ""
    more = f" and {len(names) - _LISTED} more" if len(names) > _LISTED else ""
    return f"allowed: {', '.join(names[:_LISTED])}{more}"
