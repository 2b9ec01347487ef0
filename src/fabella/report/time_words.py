"""How long ago something was, in the unit in which people say it."""

from __future__ import annotations

from fabella.report.wording import counted, figure

_DAYS_IN_WEEK, _DAYS_IN_MONTH, _DAYS_IN_YEAR = 7, 365.25 / 12, 365.25
_FROM_DAYS = (
    ("year", _DAYS_IN_YEAR, 2 * _DAYS_IN_YEAR),
    ("month", _DAYS_IN_MONTH, 14 * _DAYS_IN_WEEK),
    ("week", _DAYS_IN_WEEK, 2 * _DAYS_IN_WEEK),
)
"""A unit, its days, and from how many days on it is used: weeks through the first quarter of a year, as
appointments after an operation are named (common practice)."""


def time_since(days: float) -> str:
    """Return a number of days (0 and more) in words: ``3 days``, ``12 weeks``, ``9 months``, ``2 years``."""
    for unit, size, least in _FROM_DAYS:
        if days >= least:
            return counted(round(days / size), unit)
    if days < 1:
        return "less than a day"
    return f"{figure(days)} {'day' if days == 1 else 'days'}"
