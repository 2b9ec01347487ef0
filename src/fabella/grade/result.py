"""What grading yields: plain frozen values, worded elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fabella.anatomy import Side
from fabella.evidence import GradeBand, MeasurementError, Norm, Provenance
from fabella.record import Finding


class Verdict(StrEnum):
    """What a finding amounts to, set against the other side, the norm and the error of measuring."""

    NORMAL = "normal"
    WITHIN_NORMAL_LIMITS = "within_normal_limits"
    NO_LARGER_THAN_MEASUREMENT_ERROR = "no_larger_than_measurement_error"
    ABNORMAL = "abnormal"
    MARKEDLY_ABNORMAL = "markedly_abnormal"
    CANNOT_JUDGE = "cannot_judge"


class Why(StrEnum):
    """A reason behind a verdict; the numbers it speaks of stand in the fields of `Graded`."""

    NOT_EXAMINED = "not_examined"
    COULD_NOT_BE_TESTED = "could_not_be_tested"
    LEVEL_REPORTED = "level_reported"
    LEVEL_NOT_GIVEN = "level_not_given"
    LEVEL_AND_VALUE_DISAGREE = "level_and_value_disagree"
    BY_SIDE_DIFFERENCE = "by_side_difference"
    BY_VALUE_ALONE = "by_value_alone"
    BY_NORM = "by_norm"
    WITHIN_ERROR = "within_error"
    BEYOND_ERROR = "beyond_error"
    SIDES_ALIKE = "sides_alike"
    HEALTHY_ASYMMETRY = "healthy_asymmetry"
    GOES_BEYOND = "goes_beyond"
    OTHER_SIDE_GOES_BEYOND = "other_side_goes_beyond"
    MEASURED_WITHIN_LIMITS = "measured_within_limits"
    OTHER_SIDE_NOT_EXAMINED = "other_side_not_examined"
    OTHER_SIDE_NOT_MEASURED = "other_side_not_measured"
    NO_NORM = "no_norm"
    NORM_IS_INTERVAL_OF_MEAN = "norm_is_interval_of_mean"
    NORM_HAS_NO_LIMITS = "norm_has_no_limits"
    AGE_UNKNOWN = "age_unknown"
    NO_RULE = "no_rule"
    ERROR_UNKNOWN = "error_unknown"
    METHOD_ASSUMED = "method_assumed"


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorUsed:
    """The measurement error a side difference was held against.

    ``sem`` is the standard error of one reading; a difference above ``detectable`` is real with confidence
    ``level`` (0.90 or 0.95). ``statistic`` says what the source gives (``MDC95``, ``MDC90``, ``SEM`` …),
    ``computed`` that `detectable` was worked out from it, ``assumed`` that no such method was stated.
    ``row`` is the row of the edition, None when the rules of this room had to supply the error.
    """

    sem: float
    detectable: float
    level: float
    statistic: str
    method: str
    computed: bool
    assumed: bool
    provenance: Provenance
    source: str
    row: MeasurementError | None


@dataclass(frozen=True, slots=True, kw_only=True)
class NormUsed:
    """The norm a value was set against, in the unit of the sign.

    ``low`` and ``high`` are limits for one patient, None where open or where the norm has none;
    ``may_cut`` is false when it must not judge one patient (an interval of the mean, say); ``computed`` is
    true when the limits are mean -/+ 2 SD worked out here.
    """

    row: Norm
    mean: float | None
    low: float | None
    high: float | None
    may_cut: bool
    computed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BandUsed:
    """The published grade of a side difference.

    ``between`` is true when the difference lies between two printed bands; ``rule`` says how it was placed.
    """

    band: GradeBand
    between: bool
    rule: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Graded:
    """One finding set against the other side, the norm and its measurement error.

    Parameters
    ----------
    sign, side, finding
        What was graded; ``side`` is None for what belongs to the person.
    levels, level_weights
        The levels of the sign, normal first, and the probability of each given what was reported or measured
        (adding up to 1; all equal when nothing was learned).
    stands_for
        The ordinal sign of the same thing, when it is not itself recorded on this side: `level_weights`
        describe its levels too. Whoever counts the measurement must not count it again under this name.
    other, difference, worse_by
        The same sign on the other side; this value minus the other's; and that difference counted so that
        more is worse. None where a value is missing.
    error, norm, band
        What it was held against; None where there is none or it does not apply.
    verdict, reasons
        What it amounts to, and why.
    """

    sign: str
    side: Side | None
    finding: Finding
    levels: tuple[str, ...]
    level_weights: tuple[float, ...]
    stands_for: str | None
    other: Finding | None
    difference: float | None
    worse_by: float | None
    error: ErrorUsed | None
    norm: NormUsed | None
    band: BandUsed | None
    verdict: Verdict
    reasons: tuple[Why, ...]
