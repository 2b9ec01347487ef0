"""Cadence, steps and strides from contacts of the feet, each with its standard error.

Two things make steps differ: the walker, whose steps vary, and the clock, whose every reading jitters and
lengthens one step by what it takes from the next. After Wing and Kristofferson 1973 (Percept Psychophys
14:5-12) they are told apart by the correlation of neighbouring steps, -1/2 where all is jitter and 0 where
all is the walker; every error follows from the two.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, optimize, stats

from fabella.measure.checks import positive
from fabella.measure.walking_contacts import Foot, Steady

Steps = NDArray[np.float64]
_GRID = np.linspace(0.0, 0.49, 50)
"""Minus the correlation of neighbouring steps: from the walker's variation alone to jitter alone."""


class Timing(StrEnum):
    """How contacts were timed: an examiner's taps, a film's frames, markers, or the shape of knee curves."""

    TAPS = "taps"
    FILM = "film"
    MARKERS = "markers"
    KNEES = "knees"


OFFSET_S = {Timing.TAPS: 0.010, Timing.FILM: 0.010, Timing.MARKERS: 0.017, Timing.KNEES: 0.020}
"""SD of how much later one foot is timed than the other throughout, which no repetition tells: of markers
half of the two frames of 1/60 s within which 89 % of events of impaired walkers fell (Zeni 2008 Gait Posture
27:710-714); of knees 2 % of a stride, by which published curves differ; else judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A value with its standard error and 95 % interval, all in one unit, of ``n`` steps or strides."""

    value: float
    error: float
    low: float
    high: float
    n: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """How somebody steps.

    ``right_step_s`` runs from the left contact to the right one, ``left_step_s`` from the right to the left;
    ``difference_s`` is the right less the left, ``asymmetry_pct`` the same in percent of their mean.
    ``variation_s`` is the SD of the strides as timed, ``jitter_s`` the SD of the timing itself that the walk
    betrays. ``speed_m_per_s`` and ``stride_m`` are None when no distance is known.
    """

    timing: Timing
    cadence_per_min: Estimate
    stride_s: Estimate
    right_step_s: Estimate
    left_step_s: Estimate
    difference_s: Estimate
    asymmetry_pct: Estimate
    variation_s: Estimate
    jitter_s: float
    speed_m_per_s: Estimate | None
    stride_m: Estimate | None


def estimate(value: float, error: float, *, n: int, df: float) -> Estimate:
    """Return a value with its interval by Student's t with ``df`` degrees of freedom."""
    half = float(stats.t.ppf(0.975, max(df, 1.0))) * error
    return Estimate(value=value, error=error, low=value - half, high=value + half, n=n)


def mean_of(values: Sequence[float], *, systematic: float = 0.0) -> Estimate:
    """Return the mean of at least two values; ``systematic`` is an SD that no repetition lessens."""
    error = math.hypot(float(np.std(values, ddof=1)) / math.sqrt(len(values)), systematic)
    return estimate(float(np.mean(values)), error, n=len(values), df=len(values) - 1)


def pace(walk: Steady, *, timing: Timing, resolution_s: float = 0.0, distance_m: float | None = None) -> Pace:
    """Return how somebody steps.

    Parameters
    ----------
    walk
        The steady part of it.
    resolution_s
        Between two readings of the clock, 0 or more: one frame of a film or a motion file.
    distance_m
        Walked between the first and the last contact that were given, above 0; None = not known.

    Raises
    ------
    InputError
        When the distance is not above zero.

    Notes
    -----
    Cadence is 60 over the mean step; stride length 120 x speed / cadence. Where a distance is given, feet
    come down anywhere about the lines, an error of sqrt(1/6) of a step (derived: two uniform places).
    """
    noise = _Noise(walk, floor_s=resolution_s / math.sqrt(12))
    n = len(walk.steps)
    step = noise.mean()
    offset_s = OFFSET_S[timing]
    right, left = (noise.of_foot(own, offset_s=offset_s) for own in Foot)
    difference = noise.difference(offset_s)
    strides = [end - begin for foot in Foot for begin, end in walk.strides(foot)]
    spread = float(np.std(strides, ddof=1)) if len(strides) > 1 else 0.0
    cadence = Estimate(
        value=60 / step.value,
        error=60 * step.error / step.value**2,
        low=60 / step.high,
        high=60 / max(step.low, step.value / 10),
        n=n,
    )
    speed = stride = None
    if distance_m is not None:
        positive(distance_m=distance_m)
        speed, stride = _over(distance_m, walk, cadence)
    return Pace(
        timing=timing,
        cadence_per_min=cadence,
        stride_s=_times(step, 2.0),
        right_step_s=right,
        left_step_s=left,
        difference_s=difference,
        asymmetry_pct=_times(difference, 100 / step.value),
        variation_s=estimate(spread, spread / math.sqrt(2 * (n - 2)), n=len(strides), df=n - 2),
        jitter_s=noise.jitter_s,
        speed_m_per_s=speed,
        stride_m=stride,
    )


def _times(one: Estimate, factor: float) -> Estimate:
    return Estimate(
        value=one.value * factor,
        error=one.error * factor,
        low=one.low * factor,
        high=one.high * factor,
        n=one.n,
    )


def _over(distance_m: float, walk: Steady, cadence: Estimate) -> tuple[Estimate, Estimate]:
    """Speed and stride length from a distance between lines on the floor."""
    time_s = walk.last_s - walk.first_s
    steps = time_s * cadence.value / 60
    placed = math.sqrt(1 / 6) / steps
    speed = distance_m / time_s
    length = 120 * speed / cadence.value
    slack = math.hypot(placed, cadence.error / cadence.value)
    return (
        estimate(speed, speed * placed, n=round(steps), df=cadence.n - 2),
        estimate(length, length * slack, n=round(steps / 2), df=cadence.n - 2),
    )


class _Noise:
    """The walker's variation and the jitter of the clock, and what they do to any sum of steps."""

    def __init__(self, walk: Steady, *, floor_s: float) -> None:
        self._feet = [[foot.foot for foot in run[1:]] for run in walk.runs]
        self._steps = [np.diff([each.at_s for each in run]) for run in walk.runs]
        self._n = sum(map(len, self._steps))
        self._shares, self._variances = self._fit()
        self._floor = floor_s**2

    @property
    def jitter_s(self) -> float:
        """SD of one reading of the clock, at least that of its resolution."""
        return math.sqrt(max(float(self._shares @ (_GRID * self._variances)), self._floor))

    def mean(self) -> Estimate:
        """Return the mean of all steps, to which an offset of one foot does nothing."""
        weights = [np.full(len(run), 1 / self._n) for run in self._feet]
        return self._sum(weights, n=self._n, offset_s=0.0)

    def of_foot(self, foot: Foot, *, offset_s: float) -> Estimate:
        """Return the mean of the steps that a foot ends."""
        taken = [np.array([each is foot for each in run], dtype=float) for run in self._feet]
        count = sum(float(each.sum()) for each in taken)
        return self._sum([each / count for each in taken], n=round(count), offset_s=offset_s)

    def difference(self, offset_s: float) -> Estimate:
        """Return the mean right step less the mean left one; an offset of one foot counts twice."""
        feet = [foot for run in self._feet for foot in run]
        counts = {foot: feet.count(foot) for foot in Foot}
        sign = {Foot.RIGHT: 1 / counts[Foot.RIGHT], Foot.LEFT: -1 / counts[Foot.LEFT]}
        weights = [np.array([sign[foot] for foot in run]) for run in self._feet]
        return self._sum(weights, n=self._n, offset_s=2 * offset_s)

    def _sum(self, weights: list[Steps], *, n: int, offset_s: float) -> Estimate:
        value = sum(float(w @ s) for w, s in zip(weights, self._steps, strict=True))
        steps = sum(float(w @ w) for w in weights)
        edges = [np.diff(np.concatenate([[0.0], w, [0.0]])) for w in weights]
        readings = sum(float(edge @ edge) for edge in edges)
        jitter = np.maximum(_GRID * self._variances, self._floor)
        walker = np.maximum(self._variances - 2 * jitter, 0.0)
        variances = walker * steps + jitter * readings + offset_s**2
        half = self._half(np.sqrt(variances))
        error = math.sqrt(float(self._shares @ variances))
        return Estimate(value=value, error=error, low=value - half, high=value + half, n=n)

    def _half(self, errors: Steps) -> float:
        """Half of the 95 % interval: Student's t, mixed over what the error may be."""
        most = float(errors.max()) * float(stats.t.ppf(0.999, self._n - 2))

        def beyond(half: float) -> float:
            return float(self._shares @ stats.t.sf(half / errors, self._n - 2)) - 0.025

        return float(optimize.brentq(beyond, 0.0, most))

    def _fit(self) -> tuple[Steps, Steps]:
        """Weight of each correlation by the restricted likelihood, and the variance of a step given it."""
        logs, variances = [], []
        for share in _GRID:
            cross, square, log_det = np.zeros((2, 2)), 0.0, 0.0
            moment = np.zeros(2)
            for feet, steps in zip(self._feet, self._steps, strict=True):
                banded = np.zeros((2, len(steps)))
                banded[0, 1:], banded[1] = -share, 1.0
                root = linalg.cholesky_banded(banded)
                design = np.array([[foot is own for own in Foot] for foot in feet], dtype=float)
                solved = linalg.cho_solve_banded((root, False), np.column_stack([design, steps]))
                cross += design.T @ solved[:, :2]
                moment += design.T @ solved[:, 2]
                square += float(steps @ solved[:, 2])
                log_det += 2 * float(np.log(root[1]).sum())
            free = self._n - 2
            rest = max(square - float(moment @ np.linalg.solve(cross, moment)), 1e-12)
            variances.append(rest / free)
            logs.append(-0.5 * (free * math.log(rest) + log_det + math.log(np.linalg.det(cross))))
        weights = np.exp(np.array(logs) - max(logs))
        return weights / weights.sum(), np.array(variances)
