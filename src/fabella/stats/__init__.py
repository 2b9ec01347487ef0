"""Statistics: intervals, likelihood ratios, agreement, measurement error, pooling of accuracy studies.

The modules write ``scipy.stats.norm`` and the like in full: scipy, and each part of it, is loaded only when
it is first used (`fabella.stats.deferred`). Loading all of them takes longer than a conclusion.
"""

from fabella.stats.agreement import Agreement, MeanSquares, icc, kappa, mean_squares
from fabella.stats.calibration import EDGES, Bin, BrierParts, brier_parts, calibration
from fabella.stats.change import (
    LimitsOfAgreement,
    difference_sem,
    limits_of_agreement,
    mdc,
    sem_from_icc,
    sem_from_mdc,
)
from fabella.stats.intervals import Interval, clopper_pearson, wilson
from fabella.stats.likelihood import LikelihoodRatios, TwoByTwo, likelihood_ratios
from fabella.stats.pooled import Pooled
from fabella.stats.pooling import pool
from fabella.stats.units import krippendorff_alpha
from fabella.stats.verified import Verified, VerifiedAccuracy, verified_accuracy

__all__ = [
    "EDGES",
    "Agreement",
    "Bin",
    "BrierParts",
    "Interval",
    "LikelihoodRatios",
    "LimitsOfAgreement",
    "MeanSquares",
    "Pooled",
    "TwoByTwo",
    "Verified",
    "VerifiedAccuracy",
    "brier_parts",
    "calibration",
    "clopper_pearson",
    "difference_sem",
    "icc",
    "kappa",
    "krippendorff_alpha",
    "likelihood_ratios",
    "limits_of_agreement",
    "mdc",
    "mean_squares",
    "pool",
    "sem_from_icc",
    "sem_from_mdc",
    "verified_accuracy",
    "wilson",
]
