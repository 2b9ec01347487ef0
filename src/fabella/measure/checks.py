"""The one check every length, angle and time passes before it is used in a formula."""

import math

from fabella.errors import Problems


def within(low: float, high: float, /, **quantities: float) -> None:
    """Raise `InputError` listing every quantity that is no number from ``low`` to ``high``, ends included."""
    problems = Problems()
    for name, value in quantities.items():
        if not (math.isfinite(value) and low <= value <= high):
            problems.add(
                name,
                f"{value:g}",
                "is not a possible value",
                f"use a number from {low:g} to {high:g}" if math.isfinite(high) else f"use {low:g} or more",
            )
    problems.raise_any()


def positive(**quantities: float) -> None:
    """Raise `InputError` listing every quantity that is not a number above zero."""
    problems = Problems()
    for name, value in quantities.items():
        if not (math.isfinite(value) and value > 0):
            problems.add(name, f"{value:g}", "must be above zero", "measure again or leave it out")
    problems.raise_any()
