"""How well stated probabilities agree with what came true."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.stats.intervals import Interval, check, clopper_pearson

EDGES = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
"""Fifths: few enough that each fills in a student's lifetime of beliefs (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """The statements between two edges: from ``low``, below ``high`` (the last bin includes 1).

    ``said`` is their mean; ``came_true`` the share that came true with its exact interval.
    """

    low: float
    high: float
    n: int
    said: float
    came_true: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class BrierParts:
    """The mean squared error of probabilities, and what it is made of.

    ``brier = reliability - resolution + uncertainty + within``, where ``within`` is what counting every
    statement as the mean of its bin leaves out: 0 when all statements of a bin are the same.

    References
    ----------
    Murphy 1973 J Appl Meteorol 12:595-600 (the partition); Stephenson, Coelho and Jolliffe 2008 Weather
    Forecast 23:752-757 (the two parts within bins, added here; from memory).
    """

    brier: float
    reliability: float
    resolution: float
    uncertainty: float
    within: float


def calibration(said: Sequence[float], true: Sequence[bool], *, level: float = 0.95) -> tuple[Bin, ...]:
    """Return the bins that hold a statement, from the lowest.

    Parameters
    ----------
    said
        Probabilities (0..1).
    true
        Whether each came true; as many.
    level
        Confidence of the exact intervals [-], between 0 and 1.

    Raises
    ------
    InputError
        When a probability is none, or the two differ in number.
    """
    p, y = _given(said, true)
    place = _places(p)
    return tuple(
        Bin(
            low=EDGES[number],
            high=EDGES[number + 1],
            n=int(inside.sum()),
            said=float(p[inside].mean()),
            came_true=clopper_pearson(successes=int(y[inside].sum()), n=int(inside.sum()), level=level),
        )
        for number in range(len(EDGES) - 1)
        if (inside := place == number).any()
    )


def brier_parts(said: Sequence[float], true: Sequence[bool]) -> BrierParts:
    """Return the Brier score and its parts, of one statement or more; otherwise as in `calibration`."""
    p, y = _given(said, true)
    check((len(p) > 0, "said", len(p), "give at least one probability"))
    place = _places(p)
    base = y.mean()
    reliability = resolution = within = 0.0
    for number in np.unique(place):
        inside = place == number
        mean_p, mean_y = p[inside].mean(), y[inside].mean()
        reliability += inside.mean() * (mean_p - mean_y) ** 2
        resolution += inside.mean() * (mean_y - base) ** 2
        off_p, off_y = p[inside] - mean_p, y[inside] - mean_y
        within += (off_p**2 - 2 * off_p * off_y).sum() / len(p)
    return BrierParts(
        brier=float(((p - y) ** 2).mean()),
        reliability=float(reliability),
        resolution=float(resolution),
        uncertainty=float(base * (1 - base)),
        within=float(within),
    )


def _given(said: Sequence[float], true: Sequence[bool]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    p, y = np.asarray(said, dtype=np.float64), np.asarray(true, dtype=np.float64)
    check(
        (len(p) == len(y), "true", len(y), f"give {len(p)}, one for each probability"),
        (bool(((p >= 0) & (p <= 1)).all()), "said", [*said], "use probabilities from 0 to 1"),
    )
    return p, y


def _places(p: NDArray[np.float64]) -> NDArray[np.intp]:
    return np.clip(np.digitize(p, EDGES) - 1, 0, len(EDGES) - 2)
