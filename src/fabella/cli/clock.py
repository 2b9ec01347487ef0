"""The day on which a command runs, or the one that it is told."""

from __future__ import annotations

from datetime import UTC, date, datetime

from fabella.errors import UsageError


def today() -> date:
    """Return the day where this runs."""
    return datetime.now(tz=UTC).astimezone().date()


def day_of(written: str | None) -> date:
    """Return the day of ``--date``, today where it is not given; raise `UsageError` when it is none."""
    if written is None:
        return today()
    try:
        return date.fromisoformat(written)
    except ValueError:
        raise UsageError(f"--date '{written}' is no day; write YYYY-MM-DD") from None
