"""Minutes of an exam's day and moments: the day is lived by the clock of where the server stands."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta


def moment(day: date, minutes: float) -> datetime:
    """Return the moment at so many minutes after the midnight of a day."""
    return (datetime.combine(day, time()) + timedelta(minutes=minutes)).astimezone()


def minutes(day: date, at: datetime) -> float:
    """Return how many minutes after the midnight of a day a moment is; below 0 before the day."""
    local = at.astimezone().replace(tzinfo=None)
    return (local - datetime.combine(day, time())).total_seconds() / 60


def milliseconds(at: datetime) -> int:
    """Return a moment as scripts count it."""
    return round(at.timestamp() * 1000)
