"""Statistics: intervals, likelihood ratios, agreement, measurement error, pooling of accuracy studies.

The modules write ``scipy.stats.norm`` and the like in full: scipy loads such a part only when it is first
used, and loading all of them takes longer than a conclusion.
"""

from fabella.stats.agreement import Agreement, MeanSquares, icc, kappa, mean_squares
from fabella.stats.beliefs import (
    ASSUMED_N,
    Beta,
    LogitNormal,
    beta_from_count,
    beta_from_interval,
    logit_normal,
)
from fabella.stats.calibration import EDGES, Bin, BrierParts, brier_parts, calibration
from fabella.stats.change import LimitsOfAgreement, limits_of_agreement, mdc, sem_from_icc, sem_from_mdc
from fabella.stats.intervals import Interval, clopper_pearson, wilson
from fabella.stats.likelihood import (
    LikelihoodRatios,
    TwoByTwo,
    likelihood_ratios,
    odds,
    post_test,
    probability,
    ratios_from_accuracy,
)
from fabella.stats.pooled import Pooled
from fabella.stats.pooling import LeftOut, leave_one_out, pool
from fabella.stats.units import krippendorff_alpha

__all__ = [
    "ASSUMED_N",
    "EDGES",
    "Agreement",
    "Beta",
    "Bin",
    "BrierParts",
    "Interval",
    "LeftOut",
    "LikelihoodRatios",
    "LimitsOfAgreement",
    "LogitNormal",
    "MeanSquares",
    "Pooled",
    "TwoByTwo",
    "beta_from_count",
    "beta_from_interval",
    "brier_parts",
    "calibration",
    "clopper_pearson",
    "icc",
    "kappa",
    "krippendorff_alpha",
    "leave_one_out",
    "likelihood_ratios",
    "limits_of_agreement",
    "logit_normal",
    "mdc",
    "mean_squares",
    "odds",
    "pool",
    "post_test",
    "probability",
    "ratios_from_accuracy",
    "sem_from_icc",
    "sem_from_mdc",
    "wilson",
]
