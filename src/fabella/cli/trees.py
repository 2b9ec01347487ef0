"""A frozen answer as the tree that ``--json`` prints: a key for each field, in its order."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from types import MappingProxyType
from typing import Any

_DIGITS = 6  # significant; far beyond what any of these numbers deserves
_NONE: Mapping[type, Callable[[Any], Any]] = MappingProxyType({})


def plain_tree(value: object, otherwise: Mapping[type, Callable[[Any], Any]] = _NONE) -> Any:
    """Return a value as JSON can hold it; ``otherwise`` writes the types that go their own way."""
    if type(value) in otherwise:
        return otherwise[type(value)](value)
    if is_dataclass(value):
        return {field.name: plain_tree(getattr(value, field.name), otherwise) for field in fields(value)}
    if isinstance(value, tuple):
        return [plain_tree(each, otherwise) for each in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    return float(f"{value:.{_DIGITS}g}") if isinstance(value, float) else value
