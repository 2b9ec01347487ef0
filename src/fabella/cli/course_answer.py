"""A course as the tree that ``--json`` prints: ``fabella.course/1``."""

from __future__ import annotations

from typing import Any

from fabella.cli.trees import plain_tree
from fabella.follow import Course
from fabella.protocol import load_protocol
from fabella.report.answer import reason_tree
from fabella.workup import ErrorUsed, Reason

FORMAT = "fabella.course/1"


def course_tree(course: Course) -> dict[str, Any]:
    """Return everything that was followed."""
    tree: dict[str, Any] = plain_tree(course, {ErrorUsed: _error, Reason: _reason})
    return {"format": FORMAT, **tree}


def _reason(reason: Reason) -> dict[str, Any]:
    """Return a finding or image as a reason, as a conclusion writes it."""
    return reason_tree(reason, load_protocol())


def _error(error: ErrorUsed) -> dict[str, Any]:
    """Return an error with what is needed to find its row again."""
    row = error.row
    return {
        "detectable": plain_tree(error.detectable),
        "level": error.level,
        "sem": plain_tree(error.sem),
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
