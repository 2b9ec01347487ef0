"""JSON of plans, rules and blueprints: one way to say that a text is none, and no number without end."""

from __future__ import annotations

import json
from math import inf

from fabella.errors import InputError

_MOST_DIGITS = 300
"""A whole number longer than this is no quantity: it is read as infinite, which every reader refuses."""


def parsed(text: str, *, remedy: str) -> object:
    """Return the value that a text holds; raise `InputError` with its line when it is no JSON."""
    try:
        return json.loads(text, parse_int=_whole)
    except (json.JSONDecodeError, RecursionError) as error:
        line = error.lineno if isinstance(error, json.JSONDecodeError) else 1
        raise InputError.of(place=f"line {line}", says="is not JSON", remedy=remedy) from None


def _whole(written: str) -> float:
    if len(written) <= _MOST_DIGITS:
        return int(written)
    return -inf if written.startswith("-") else inf
