"""A form as it was typed, with what is wrong beside each field, so that nothing has to be typed twice."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from django.http import HttpRequest

from fabella.errors import Problem

_Name = TypeVar("_Name")
_MOST_DIGITS = 18  # more than anything is counted with; a database takes no larger number


@dataclass(frozen=True, slots=True)
class Form:
    """What was typed, by the name of its field, and every problem."""

    typed: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    def value(self, name: str) -> str:
        """Return what was typed into a field; empty when nothing was."""
        return self.typed.get(name, "")

    def wrong(self, name: str) -> str:
        """Return what is wrong with a field, in words; empty when nothing is."""
        told = (
            f"{each.says[:1].upper()}{each.says[1:]}" + (f"; {each.remedy}" if each.remedy else "")
            for each in self.problems
            if each.place == name
        )
        return ". ".join(told)

    @property
    def status(self) -> int:
        """The status of a page that shows it: whatever is wrong was refused."""
        return 400 if self.problems else 200

    def others(self, *names: str) -> tuple[str, ...]:
        """Return the problems that belong to none of these fields."""
        return tuple(str(each) for each in self.problems if each.place not in names)


def rearranged(order: Sequence[_Name], name: _Name, move: str) -> list[_Name]:
    """Return an order after a button: one of it ``up`` or ``down`` a place, or ``out``."""
    place, rest = order.index(name), [each for each in order if each != name]
    if move != "out":
        rest.insert(max(0, place + (-1 if move == "up" else 1)), name)
    return rest


def blank(**typed: str) -> Form:
    """Return a form before anything was typed, with what is filled in already."""
    return Form(typed)


def filled(request: HttpRequest, problems: Iterable[Problem]) -> Form:
    """Return a form as it was sent."""
    return Form(request.POST.dict(), tuple(problems))


def new_id() -> str:
    """Return an id that nothing has yet, for what is sent without scripts."""
    return secrets.token_hex(16)


def typed_whole(text: str, *, otherwise: int = 0) -> int:
    """Return a whole number from 0 that was typed or carried along, another one where it is none."""
    is_one = text.isdecimal() and len(text) <= _MOST_DIGITS
    return int(text) if is_one else otherwise


def typed_number(text: str) -> float | None:
    """Return a number typed with a point or a comma, None where it is none."""
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return None
