"""What differs by rounding alone: how finely scores are compared, and when several are the same."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from fabella.assess.marks import Numbers

DIGITS = 6
"""Decimals of a percent to which scores and cuts are rounded before they are compared."""

ALIKE = 1e-9
"""Of the highest score: what differs by less differs by the rounding of sums alone."""


def vary(values: Numbers, *, among: Numbers | None = None, axis: int | None = None) -> NDArray[Any]:
    """Return whether scores differ by more than rounding, along an axis or all together.

    ``among``: the scores of which they are some; None when they are all.
    """
    highest = np.abs(values if among is None else among).max(initial=0.0)
    return np.asarray(np.ptp(values, axis=axis) > ALIKE * highest)
