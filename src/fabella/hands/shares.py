"""One's own sensitivity and specificity of a sign, started from the published ones and moved by own knees."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fabella.evidence.facts import AccuracyUsed, Indicator
from fabella.hands.result import Against, Cells, OwnShare, SignInOwnHands
from fabella.infer.calibrate import UNKNOWN_N, draw_accuracy
from fabella.stats import Interval, clopper_pearson, verified_accuracy, wilson
from fabella.stats.deferred import scipy

MIN_KNEES = 10
"""Knees below which an own share is not set against the published one (judgement)."""
OWN_LEVEL, PUBLISHED_LEVEL = 0.9, 0.95
_DRAWS = 4_000


def in_own_hands(used: AccuracyUsed, indicator: Indicator, cells: Cells) -> SignInOwnHands:
    """Return a sign's accuracy in own hands.

    It starts from what the model takes for a clinic it does not know: the published accuracy, its sampling
    error, and how much studies differ (`fabella.infer.calibrate.draw_accuracy`).
    """
    drawn = draw_accuracy(used, indicator, _DRAWS, np.random.default_rng([0, *used.sign.encode()]))
    sensitivity, specificity = (
        (float(np.mean(x)), float(np.std(x))) for x in map(scipy.special.logit, drawn)
    )
    own = verified_accuracy(
        cells,
        sensitivity_logit=sensitivity,
        specificity_logit=specificity,
        level=OWN_LEVEL,
    )
    return SignInOwnHands(
        used=used,
        cells=cells,
        sensitivity=_share(
            cells.positive_present,
            cells.present,
            own.sensitivity,
            published=_published(used.sensitivity, used.sensitivity_bounds, used.n),
            printed=used.sensitivity_bounds is not None,
        ),
        specificity=_share(
            cells.negative_absent,
            cells.absent,
            own.specificity,
            published=_published(used.specificity, used.specificity_bounds, used.n),
            printed=used.specificity_bounds is not None,
        ),
    )


def _share(right: int, of: int, own: Interval, *, published: Interval, printed: bool) -> OwnShare:
    counted = clopper_pearson(successes=right, n=of) if of else None
    return OwnShare(
        counted=counted,
        own=own,
        published=published,
        printed=printed,
        against=_against(counted, of, own, published),
    )


def _published(share: float, bounds: tuple[float, float] | None, knees: int | None) -> Interval:
    """Return a published share with its interval.

    Where none was printed half the knees of the study bear on each share, as in the model.
    """
    if bounds is not None:
        return Interval(estimate=share, low=bounds[0], high=bounds[1], level=PUBLISHED_LEVEL)
    of = max((knees or UNKNOWN_N) // 2, 1)
    reckoned = wilson(successes=round(share * of), n=of, level=PUBLISHED_LEVEL)
    return replace(reckoned, estimate=share)


def _against(counted: Interval | None, of: int, own: Interval, published: Interval) -> Against:
    if counted is None or of < MIN_KNEES:
        return Against.TOO_FEW
    if max(counted.high, own.high) < published.low:
        return Against.LOWER
    if min(counted.low, own.low) > published.high:
        return Against.HIGHER
    return Against.ALIKE
