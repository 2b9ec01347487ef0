"""The day on which a command runs, or the one that it is told."""

from __future__ import annotations

from datetime import date
from time import localtime

from fabella.errors import UsageError


def today() -> date:
    """Return the day where this runs, whatever time zone that is said to be in."""
    return date(*localtime()[:3])


def day_of(written: str | None) -> date:
    """Return the day of ``--date``, today where it is not given; raise `UsageError` when it is none."""
    if written is None:
        return today()
    try:
        return date.fromisoformat(written)
    except ValueError:
        raise UsageError(f"--date '{written}' is no day; write YYYY-MM-DD") from None
