"""Fitting a sign to its published sensitivity and specificity.

In the reference population let a = E[u (1 - w g) | target present] and b the same with the target absent.
Then ``1 - sensitivity = (1 - f)(1 - h a)`` and ``specificity = (1 - f)(1 - h b)``, which is solved for hit h
and false alarm f. Published values that the model's other causes of the sign leave no room for are approached
as closely as h and f in their bounds allow, and reported.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.facts import AccuracyUsed, Image, Indicator
from fabella.infer.indicators import Response

Floats = NDArray[np.float64]

HIT_BOUNDS = (0.02, 0.995)
FALSE_ALARM_BOUNDS = (0.002, 0.90)
BETWEEN_STUDIES_SD = 0.4
"""Standard deviation between studies, on the logit scale (judgement).

Added to the sampling error, so that the interval is for a new clinic.
"""
LEAST = 1e-4
"""No chance is drawn nearer to 0 or 1 than this: anything is misread some day."""
UNKNOWN_N = 60
"""Knees a published value is worth when neither interval nor number was printed (judgement)."""


@dataclass(frozen=True, slots=True)
class Exposure:
    """Mean reach of a sign (0..1) in the reference population, with and without the target."""

    present: float
    absent: float


def solve(sensitivity: Floats, specificity: Floats, exposure: Exposure) -> Response:
    """Return hit and false alarm for given sensitivity and specificity, elementwise."""
    a, b = exposure.present, exposure.absent
    ratio = (1 - sensitivity) / specificity
    hit = np.clip((1 - ratio) / np.maximum(a - ratio * b, 1e-9), *HIT_BOUNDS)
    false_alarm = 1 - specificity / (1 - hit * b)
    tight = false_alarm < FALSE_ALARM_BOUNDS[0]
    hit = np.where(tight, np.clip(sensitivity / a, *HIT_BOUNDS), hit)
    return Response(hit, np.clip(false_alarm, *FALSE_ALARM_BOUNDS))


def achieved(response: Response, exposure: Exposure) -> tuple[Floats, Floats]:
    """Return the sensitivity and specificity that a response has in its reference population."""
    keep = 1 - response.false_alarm
    return 1 - keep * (1 - response.hit * exposure.present), keep * (1 - response.hit * exposure.absent)


def draw_accuracy(
    used: AccuracyUsed, indicator: Indicator, draws: int, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """Draw sensitivity and specificity (draws,) for a new clinic.

    Logit-normal, with sampling and between-study error. A study in which less than one knee was mistaken is
    too small to tell how rare that is: it is pooled with what was judged of the sign, worth its ``strength``.
    """
    knees, worth = (used.n or UNKNOWN_N) / 2, indicator.strength
    missed = _Judged(1 - indicator.hit, worth)
    alarmed = _Judged(indicator.false_alarm, 2 * worth)
    sensitivity = _draw(used.sensitivity, used.sensitivity_bounds, knees, missed, draws=draws, rng=rng)
    specificity = _draw(used.specificity, used.specificity_bounds, knees, alarmed, draws=draws, rng=rng)
    return sensitivity, specificity


def draw_image(row: Image, draws: int, rng: np.random.Generator) -> Floats:
    """Draw the sensitivity and specificity of an image, (2, draws), for a new clinic.

    The tables hold no numbers of knees for images: each is worth `UNKNOWN_N`, and a between-study error.
    """
    knees = UNKNOWN_N / 2
    return np.stack(
        [
            _draw(score, None, knees, _Judged(1 - score, knees), draws=draws, rng=rng)
            for score in (row.sensitivity, row.specificity)
        ]
    )


def draw_judgement(indicator: Indicator, draws: int, rng: np.random.Generator) -> Response:
    """Draw hit and false alarm (draws,) of an indicator that no study measured.

    Beta distributions worth ``strength`` knees (twice that for false alarms).
    """
    n = indicator.strength
    return Response(_beta(indicator.hit, n, draws, rng), _beta(indicator.false_alarm, 2 * n, draws, rng))


@dataclass(frozen=True, slots=True)
class _Judged:
    """How often a sign was judged to be mistaken (0..1), and how many knees that judgement is worth."""

    mistaken: float
    knees: float


def _draw(
    score: float,
    bounds: tuple[float, float] | None,
    knees: float,
    judged: _Judged,
    *,
    draws: int,
    rng: np.random.Generator,
) -> Floats:
    between = rng.normal(0, BETWEEN_STUDIES_SD, size=draws)
    if bounds is not None:
        low, high = (min(max(bound, 0.002), 0.998) for bound in bounds)
        logit = rng.normal(_logit(score), (_logit(high) - _logit(low)) / (2 * 1.959964), size=draws)
    elif knees * (1 - score) < 1:
        mistaken = (knees * (1 - score) + judged.knees * judged.mistaken) / (knees + judged.knees)
        logit = -_logit(_beta(mistaken, knees + judged.knees, draws, rng))
    else:
        logit = rng.normal(_logit(score), 1 / np.sqrt(knees * score * (1 - score)), size=draws)
    return np.asarray(1 / (1 + np.exp(-logit - between)))


def _beta(mean: float, n: float, draws: int, rng: np.random.Generator) -> Floats:
    mean = min(max(mean, LEAST), 0.998)
    return np.clip(rng.beta(mean * n, (1 - mean) * n, size=draws), LEAST, 1 - LEAST)


def _logit(chance: Floats | float) -> Floats:
    return np.asarray(np.log(chance / (1 - np.asarray(chance))))
