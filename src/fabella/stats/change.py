"""Measurement error: how large a difference must be before it is a change and not noise."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np

from fabella.stats.intervals import check, level_claim, normal_quantile


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitsOfAgreement:
    """Where the differences between two measurements of the same thing lie.

    Parameters
    ----------
    low, high
        Limits of agreement, in the unit of the measurement; low below high.
    level
        Share of the differences they are meant to hold [-]; 0.95 unless the source says otherwise.

    Raises
    ------
    InputError
        When the limits are the wrong way round or the level is out of range.

    References
    ----------
    Bland and Altman 1986 Lancet 327:307-310, doi 10.1016/S0140-6736(86)90837-8 (from memory).
    """

    low: float
    high: float
    level: float = 0.95

    def __post_init__(self) -> None:
        check(
            (self.low < self.high, "low", self.low, f"use a limit below {self.high}"), level_claim(self.level)
        )

    @property
    def bias(self) -> float:
        """Return the mean difference, halfway between the limits."""
        return (self.low + self.high) / 2

    @property
    def sd_difference(self) -> float:
        """Return the standard deviation of the differences: half the width over 1.96 (at a level of 0.95)."""
        return (self.high - self.low) / 2 / normal_quantile(self.level)

    @property
    def sem(self) -> float:
        """Return the standard error of one measurement: a difference holds the errors of two."""
        return self.sd_difference / sqrt(2)


def limits_of_agreement(
    first: Sequence[float], second: Sequence[float], *, level: float = 0.95
) -> LimitsOfAgreement:
    """Return the limits of agreement of paired measurements: mean difference and 1.96 SD to either side.

    Parameters
    ----------
    first, second
        Measurements of the same items in the same order and unit; at least two pairs, none missing.
    level
        Share of the differences to hold [-].

    Raises
    ------
    InputError
        When the pairs do not match, are too few, hold a gap or do not differ, or the level is out of range.
    """
    check(
        (len(first) == len(second), "second", f"{len(second)} values", f"use {len(first)}, as in first"),
        (len(first) > 1, "first", f"{len(first)} values", "use at least two pairs"),
        level_claim(level),
    )
    difference = np.subtract(first, second)
    spread = float(difference.std(ddof=1))
    check((spread > 0, "first - second", spread, "use measurements without gaps whose differences vary"))
    middle, half = float(difference.mean()), normal_quantile(level) * spread
    return LimitsOfAgreement(low=middle - half, high=middle + half, level=level)


def sem_from_icc(*, sd: float, icc: float) -> float:
    """Return the standard error of measurement, SD * sqrt(1 - ICC), in the unit of the SD.

    Parameters
    ----------
    sd
        Standard deviation between the people measured, from 0.
    icc
        Reliability [-], 0 to 1; a published value below 0 counts as no reliability: pass 0.

    Raises
    ------
    InputError
        When either is out of range.

    References
    ----------
    Weir 2005 J Strength Cond Res 19:231-240 (from memory).
    """
    check((sd >= 0, "sd", sd, "use 0 or more"), (0 <= icc <= 1, "icc", icc, "use a share from 0 to 1"))
    return sd * sqrt(1 - icc)


def difference_sem(*, sem: float, other_sem: float) -> float:
    """Return the standard error of the difference between two readings, such as those of two sides.

    Parameters
    ----------
    sem, other_sem
        Standard error of measurement of either reading, from 0, in one unit. They are taken as independent,
        so that their variances add: with equal ones sqrt(2) * SEM.

    Raises
    ------
    InputError
        When either is out of range.
    """
    check((sem >= 0, "sem", sem, "use 0 or more"), (other_sem >= 0, "other_sem", other_sem, "use 0 or more"))
    return hypot(sem, other_sem)


def mdc(*, sem: float, level: float) -> float:
    """Return the minimal detectable change, z * sqrt(2) * SEM, in the unit of the SEM.

    Parameters
    ----------
    sem
        Standard error of one measurement, from 0.
    level
        0.90 for MDC90, 0.95 for MDC95. There is no default: published values of both kinds are often
        called MDC, and mistaking one for the other moves the threshold by a fifth.

    Raises
    ------
    InputError
        When either is out of range.
    """
    check((sem >= 0, "sem", sem, "use 0 or more"), level_claim(level))
    return normal_quantile(level) * sqrt(2) * sem


def sem_from_mdc(*, mdc: float, level: float) -> float:
    """Return the standard error of measurement behind a published minimal detectable change.

    Parameters
    ----------
    mdc
        Minimal detectable change as published, from 0.
    level
        0.90 if it is an MDC90, 0.95 if it is an MDC95.

    Raises
    ------
    InputError
        When either is out of range.
    """
    check((mdc >= 0, "mdc", mdc, "use 0 or more"), level_claim(level))
    return mdc / (normal_quantile(level) * sqrt(2))
