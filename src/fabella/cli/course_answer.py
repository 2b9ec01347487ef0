"""A course as the tree that ``--json`` prints: ``fabella.course/1``."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Any

from fabella.follow import Course
from fabella.workup import ErrorUsed

FORMAT = "fabella.course/1"

_DIGITS = 6  # significant; far beyond what any of these numbers deserves


def course_tree(course: Course) -> dict[str, Any]:
    """Return everything that was followed."""
    tree: dict[str, Any] = _plain(course)
    return {"format": FORMAT, **tree}


def _plain(value: object) -> Any:
    if isinstance(value, ErrorUsed):
        return _error(value)
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    return float(f"{value:.{_DIGITS}g}") if isinstance(value, float) else value


def _error(error: ErrorUsed) -> dict[str, Any]:
    """Return an error with what is needed to find its row again."""
    row = error.row
    return {
        "detectable": _plain(error.detectable),
        "level": error.level,
        "sem": _plain(error.sem),
        "statistic": error.statistic,
        "method": error.method,
        "method_assumed": error.assumed,
        "computed": error.computed,
        "provenance": error.provenance.value,
        "source": error.source,
        "measure": None if row is None else row.measure_id,
        "comparison": None if row is None else row.comparison,
        "recalled": row is not None and row.recalled,
    }
