"""What devices send: events in batches, each with an id that the device made and an answer of its own."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from fabella.errors import InputError, Problem

_KEY = re.compile(r"[A-Za-z0-9-]{16,64}")
_KEY_SHOWN = 64


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


def wrong_key(key: object) -> Result | None:
    """Return the answer to an event whose id is none, None when it is one."""
    if isinstance(key, str) and _KEY.fullmatch(key):
        return None
    return refused(str(key)[:_KEY_SHOWN], "id", "is none", "write 16 to 64 letters, digits and dashes")


def used_otherwise(key: str) -> Result:
    """Return the answer to an event whose id stands for something else."""
    return refused(key, "id", "was used for something else", "make a new id")


def read_batch(text: str | bytes, *, name: str, most: int) -> tuple[Mapping[str, Any], ...]:
    """Return the events of a batch, ``{name: [{"id": …, "act": …}, …]}``.

    Raises `InputError` if it is none, or has more than ``most``.
    """
    try:
        tree = json.loads(text)
    except (ValueError, RecursionError):
        tree = None
    found = tree.get(name) if isinstance(tree, dict) else None
    if not isinstance(found, list) or not all(isinstance(each, dict) for each in found):
        says = f'is no list of events; write {{"{name}": [{{"id": …, "act": …}}, …]}}'
        raise InputError([Problem(place=name, value="", says=says, remedy="")])
    if len(found) > most:
        remedy = f"send at most {most} at once"
        raise InputError([Problem(place=name, value=str(len(found)), says="are too many", remedy=remedy)])
    return tuple(found)
