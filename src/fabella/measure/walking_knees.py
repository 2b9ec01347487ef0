"""Both knees through the stride: every stride as 101 points, their mean and SD, and what is read off them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import find_peaks

from fabella.errors import Problems
from fabella.measure.walking_contacts import Contact, Foot, Steady
from fabella.measure.walking_pace import Estimate, estimate, mean_of
from fabella.packaged import packaged_table

Series = NDArray[np.float64]

POINTS = 101
"""Of a stride: each percent from 0 to 100."""
ZERO_DEG = 3.0
"""SD of the zero of a knee's angle, by where markers or a sensor sit (judgement, between the 2 and 5 degrees
that McGinley 2009 Gait Posture 29:360-369 calls reasonable; from memory)."""
_LOADED_PCT = 30
_SWING_PCT = 50
_GAP_S = 0.1  # the longest within a stride that is bridged
_LEAST_FRAMES = 8
"""Fewer angles in a stride tell no curve (judgement)."""
_LEAST_DEG, _MOST_DEG = -40.0, 170.0
_PROMINENT = 0.4  # of the range: what a swing peak rises above its surroundings
_APART_S = 0.6  # swing peaks of one knee
_AFTER_LEAST = 0.02
"""Contact follows the least flexion by this share of the stride, as in the mean curve of Schwartz 2008."""
READ: Sequence[str] = ("peak_deg", "loaded_deg", "range_deg")
"""What is read off the strides of a knee."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KneeCurve:
    """One knee: mean and SD in degrees at each percent of the stride, and what is read off each stride.

    ``peak_deg`` is the most it bends in swing, ``loaded_deg`` the most while taking weight (the first 30 % of
    the stride), ``range_deg`` the most less the least. All bent angles are positive.
    """

    mean_deg: tuple[float, ...]
    sd_deg: tuple[float, ...]
    strides: int
    peak_deg: Estimate
    loaded_deg: Estimate
    range_deg: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Knees:
    """Both knees or one; ``differences`` (right less left) by the name of what is read, None of one knee."""

    curves: Mapping[Foot, KneeCurve]
    differences: Mapping[str, Estimate] | None
    told: tuple[str, ...]


def knees(walk: Steady, angles: Mapping[Foot, Series], times_s: Series) -> Knees:
    """Return the curves of the knees of a walk.

    Parameters
    ----------
    angles
        Flexion in degrees of one or both knees at ``times_s``; what is missing is not a number.

    Raises
    ------
    InputError
        When fewer than two whole strides of a knee are known, or its angles cannot be a knee's.

    Notes
    -----
    Errors of the mean over strides; absolute angles also carry the error of their zero, `ZERO_DEG` on each
    side, which a range does not.
    """
    problems = Problems()
    told, curves = [], {}
    for foot, angle in angles.items():
        known = angle[np.isfinite(angle)]
        if not len(known) or known.min() < _LEAST_DEG or known.max() > _MOST_DEG:
            low, high = (known.min(), known.max()) if len(known) else (math.nan, math.nan)
            problems.add(
                f"{foot} knee",
                f"{low:.0f} to {high:.0f}",
                "is not the flexion of a knee",
                "give degrees, bent positive; check the names and the unit",
            )
            continue
        whole = [_stride(angle, times_s, *each) for each in walk.strides(foot)]
        kept = [each for each in whole if each is not None]
        if gone := len(whole) - len(kept):
            were, them = ("was", "it") if gone == 1 else ("were", "them")
            strides = f"{gone} of {len(whole)} strides"
            told.append(f"Of the {foot} knee {strides} {were} left out: angles are missing in {them}.")
        if len(kept) < 2:
            problems.add(
                f"{foot} knee",
                str(len(kept)),
                "whole strides are known",
                "record at least two strides of each knee",
            )
            continue
        curves[foot] = _curve(np.array(kept))
    problems.raise_any()
    return Knees(curves=curves, differences=_differences(curves), told=tuple(told))


def contacts_of_knees(angles: Mapping[Foot, Series], times_s: Series) -> tuple[Contact, ...]:
    """Return contacts of the feet where nothing but the knees' angles is known: rough, by their shape.

    A swing peak rises above its surroundings by 0.4 of the knee's range and comes at most once in 0.6 s. The
    foot meets the ground 2 % of the stride after the knee is straightest behind the peak.
    """
    step_s = float(np.median(np.diff(times_s)))
    found = []
    for foot, angle in angles.items():
        filled = without_gaps(angle)
        high, low = np.percentile(filled, [98, 2])
        apart = max(int(_APART_S / step_s), 1)
        peaks, _ = find_peaks(filled, prominence=_PROMINENT * (high - low), distance=apart)
        if len(peaks) < 2:
            continue
        stride = int(np.median(np.diff(peaks)))
        for peak in peaks:
            end = peak + int(0.4 * stride)
            if end < len(filled):
                least = peak + int(np.argmin(filled[peak:end]))
                found.append(Contact(foot=foot, at_s=float(times_s[least]) + _AFTER_LEAST * stride * step_s))
    return tuple(sorted(found))


def without_gaps(values: Series) -> Series:
    """Return values with what is missing on the straight line between its neighbours."""
    known = np.isfinite(values)
    at = np.arange(len(values))
    return np.interp(at, at[known], values[known]) if known.any() else values


@cache
def healthy_boys() -> tuple[tuple[float, float, float], ...]:
    """Return percent of the stride, mean and SD of knee flexion in degrees of 38 healthy boys."""
    table = packaged_table("measure/walking_normal.toml")
    return tuple((at, mean, sd) for at, mean, sd in table["boys"])


def _stride(angle_deg: Series, times_s: Series, begin_s: float, end_s: float) -> Series | None:
    """Return a stride as `POINTS` angles, None where too much of it is missing."""
    if begin_s < times_s[0] or end_s > times_s[-1]:
        return None
    first, last = np.searchsorted(times_s, [begin_s, end_s])
    around = slice(max(int(first) - 1, 0), int(last) + 2)
    known = np.isfinite(angle_deg[around])
    at_s, values = times_s[around][known], angle_deg[around][known]
    if len(at_s) < _LEAST_FRAMES or at_s[0] > begin_s or at_s[-1] < end_s or np.diff(at_s).max() > _GAP_S:
        return None
    return np.interp(np.linspace(begin_s, end_s, POINTS), at_s, values)


def _curve(strides: Series) -> KneeCurve:
    loaded = strides[:, : _LOADED_PCT + 1].max(axis=1)
    return KneeCurve(
        mean_deg=tuple(map(float, strides.mean(axis=0))),
        sd_deg=tuple(map(float, strides.std(axis=0, ddof=1))),
        strides=len(strides),
        peak_deg=mean_of(strides[:, _SWING_PCT:].max(axis=1).tolist(), systematic=ZERO_DEG),
        loaded_deg=mean_of(loaded.tolist(), systematic=ZERO_DEG),
        range_deg=mean_of(np.ptp(strides, axis=1).tolist()),
    )


def _differences(curves: Mapping[Foot, KneeCurve]) -> Mapping[str, Estimate] | None:
    if set(curves) != set(Foot):
        return None
    return {name: difference(*(getattr(curves[foot], name) for foot in Foot)) for name in READ}


def difference(right: Estimate, left: Estimate) -> Estimate:
    """Return the right less the left, their errors taken as independent."""
    n = right.n + left.n
    return estimate(right.value - left.value, math.hypot(right.error, left.error), n=n, df=n - 2)
