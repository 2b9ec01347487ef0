"""The one check every length, angle and time passes before it is used in a formula."""

import math

from fabella.errors import InputError, Problem


def within(low: float, high: float, /, **quantities: float) -> None:
    """Raise `InputError` listing every quantity that is no number from ``low`` to ``high``, ends included."""
    problems = tuple(
        Problem(
            place=name,
            value=f"{value:g}",
            says="is not a possible value",
            remedy=f"use a number from {low:g} to {high:g}"
            if math.isfinite(high)
            else f"use {low:g} or more",
        )
        for name, value in quantities.items()
        if not (math.isfinite(value) and low <= value <= high)
    )
    if problems:
        raise InputError(problems)


def positive(**quantities: float) -> None:
    """Raise `InputError` listing every quantity that is not a number above zero."""
    problems = tuple(
        Problem(
            place=name, value=f"{value:g}", says="must be above zero", remedy="measure again or leave it out"
        )
        for name, value in quantities.items()
        if not (math.isfinite(value) and value > 0)
    )
    if problems:
        raise InputError(problems)
