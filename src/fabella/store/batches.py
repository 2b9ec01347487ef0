"""What devices send: events in batches, each with an id that the device made and an answer of its own."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from fabella.errors import InputError, Problem
from fabella.record.jsontext import Keyed, Unreal, is_unicode, parse, shown

_KEY = re.compile(r"[A-Za-z0-9-]{16,64}")
_DEEPEST = 3  # lists in lists: what a student believes has two


class Outcome(StrEnum):
    """What became of an event."""

    SAVED = "saved"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """The answer to one event; a repeat is answered the same. ``number`` is its place among its like."""

    key: str
    outcome: Outcome
    number: int | None = None
    problems: tuple[Problem, ...] = ()


def saved(key: str, number: int) -> Result:
    """Return the answer to an event that is on the disk."""
    return Result(key=key, outcome=Outcome.SAVED, number=number)


def refused(key: str, place: str, says: str, remedy: str) -> Result:
    """Return the answer to an event that is not kept and never will be as it stands."""
    return refused_for(key, (Problem(place=place, value=key, says=says, remedy=remedy),))


def refused_for(key: str, problems: tuple[Problem, ...]) -> Result:
    """Return the answer to an event in which something is wrong."""
    return Result(key=key, outcome=Outcome.REFUSED, problems=problems)


def unreadable(event: Mapping[str, Any]) -> Result | None:
    """Return the answer to an event of which nothing can be read or kept, None when it may be read.

    Its id is none, or it holds what no disk takes and no page shows: half a character, a number that is none,
    lists in lists without end, or one name twice.
    """
    key = event.get("id", "")
    if not (isinstance(key, str) and _KEY.fullmatch(key)):
        return refused(shown(key), "id", "is none", "write 16 to 64 letters, digits and dashes")
    problems = [
        Problem(place=shown(name), value=shown(value), says=says, remedy="leave it out")
        for name, value in event.items()
        for says in _unsound(value)
    ]
    twice = event.twice if isinstance(event, Keyed) else ()
    problems += [Problem(place=shown(each), says="stands twice", remedy="keep one") for each in twice]
    return refused_for(key, tuple(problems)) if problems else None


def _unsound(value: object, depth: int = 0) -> Iterator[str]:
    match value:
        case str() if not is_unicode(value):
            yield "holds half a character"
        case Unreal():
            yield "is no finite number"
        case list() | dict() if depth == _DEEPEST:
            yield "is nested too deeply"
        case list():
            for each in value:
                yield from _unsound(each, depth + 1)
        case dict():
            for each in value.values():
                yield from _unsound(each, depth + 1)


def used_otherwise(key: str) -> Result:
    """Return the answer to an event whose id stands for something else."""
    return refused(key, "id", "was used for something else", "make a new id")


def read_batch(text: str | bytes, *, name: str, most: int) -> tuple[Mapping[str, Any], ...]:
    """Return the events of a batch, ``{name: [{"id": …, "act": …}, …]}``.

    Raises `InputError` if it is none, or has more than ``most``.
    """
    tree = parse(text)
    found = tree.get(name) if isinstance(tree, Keyed) and not tree.twice else None
    if not isinstance(found, list) or not all(isinstance(each, dict) for each in found):
        says = f'is no list of events; write {{"{name}": [{{"id": …, "act": …}}, …]}}'
        raise InputError.of(place=name, says=says, remedy="")
    if len(found) > most:
        remedy = f"send at most {most} at once"
        raise InputError.of(place=name, value=str(len(found)), says="are too many", remedy=remedy)
    return tuple(found)
