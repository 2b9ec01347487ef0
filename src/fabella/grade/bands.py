"""Published grades with their printed limits, and the one rule for what lies between them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fabella.errors import InputError
from fabella.evidence import GradeBand
from fabella.grade.result import BandUsed

ROUNDING_RULE = "begins_at_printed_lower_bound"
"""A grade begins where its printed lower bound is reached (or passed, where it is printed as "more than");
a fraction short of it stays in the grade beneath: 2.7 mm lies beneath a grade that begins at 3 mm, and a
limb symmetry of 89.7 % beneath one that begins at 90 %. Printed bands of whole numbers leave such gaps."""


def band_of(value: float, bands: Sequence[GradeBand]) -> BandUsed | None:
    """Return the grade of a value on one published scale, None when it lies beneath all of them.

    Parameters
    ----------
    value
        In the unit of the bands.
    bands
        The grades of one scale, in any order; those given in words only are passed over.

    Raises
    ------
    InputError
        When the value is not a number.
    """
    if math.isnan(value):
        raise InputError.of(place="value", value="nan", says="is no number", remedy="leave it out")
    measured = sorted(
        (band for band in bands if band.lower is not None or band.upper is not None),
        key=lambda band: (-math.inf if band.lower is None else band.lower, band.lower_strict),
    )
    begun = [band for band in measured if _begun(value, band)]
    if not begun:
        return None
    return BandUsed(band=begun[-1], between=not begun[-1].contains(value), rule=ROUNDING_RULE)


def _begun(value: float, band: GradeBand) -> bool:
    if band.lower is None:
        return True
    return value > band.lower or (value == band.lower and not band.lower_strict)
