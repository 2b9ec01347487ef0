"""One side against the other: differences and indices of asymmetry."""

import math
from collections.abc import Callable
from enum import StrEnum

from fabella.measure.checks import positive


class AsymmetryIndex(StrEnum):
    """How two sides are set against each other; only some indices change nothing but sign when sides swap."""

    DIFFERENCE = "difference"
    RATIO = "ratio"  # not symmetric: swapped sides give the reciprocal
    PCT_OF_FIRST = "pct_of_first"  # not symmetric: mirror-image people do not average to zero
    PCT_OF_LARGER = "pct_of_larger"
    PCT_OF_MEAN = "pct_of_mean"
    PCT_OF_SUM = "pct_of_sum"
    SHARE_PCT = "share_pct"  # 50 is symmetric
    ANGLE_PCT = "angle_pct"


_FORMULAE: dict[AsymmetryIndex, Callable[[float, float], float]] = {
    AsymmetryIndex.DIFFERENCE: lambda a, b: a - b,
    AsymmetryIndex.RATIO: lambda a, b: a / b,
    AsymmetryIndex.PCT_OF_FIRST: lambda a, b: 100 * (a - b) / a,
    AsymmetryIndex.PCT_OF_LARGER: lambda a, b: 100 * (a - b) / max(a, b),
    AsymmetryIndex.PCT_OF_MEAN: lambda a, b: 200 * (a - b) / (a + b),
    AsymmetryIndex.PCT_OF_SUM: lambda a, b: 100 * (a - b) / (a + b),
    AsymmetryIndex.SHARE_PCT: lambda a, b: 100 * a / (a + b),
    AsymmetryIndex.ANGLE_PCT: lambda a, b: 100 * (45 - math.degrees(math.atan(a / b))) / 90,
}


def asymmetry(index: AsymmetryIndex, *, first: float, second: float) -> float:
    """Return how far two positive readings of one quantity lie apart, by the chosen index.

    Parameters
    ----------
    index
        Which of the eight published indices to use.
    first, second
        The two sides in any one unit, both above 0; positive results mean that the first is larger,
        except for `AsymmetryIndex.ANGLE_PCT`, whose published sign is the other way round.

    Raises
    ------
    InputError
        When a reading is not above zero.

    Notes
    -----
    Source: table of eight asymmetry indices with fictive step lengths, Int J Phys Med Rehabil 2:201.
    """
    positive(first=first, second=second)
    return _FORMULAE[index](first, second)


def limb_symmetry_pct(*, involved: float, uninvolved: float) -> float:
    """Return the limb symmetry index: the involved side as a percentage of the uninvolved one.

    Parameters
    ----------
    involved, uninvolved
        Readings in any one unit (hop in cm, strength in N m), both above 0.

    Raises
    ------
    InputError
        When a reading is not above zero.

    Notes
    -----
    Source: Gokeler 2017 Knee Surg Sports Traumatol Arthrosc 25:192-199.
    """
    positive(involved=involved, uninvolved=uninvolved)
    return 100 * involved / uninvolved


def shortfall(*, this_side: float, other_side: float) -> float:
    """Return by how much this side falls short of the other, in their unit; negative when it exceeds it."""
    return other_side - this_side
