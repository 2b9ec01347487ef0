"""Normal values and the error of measuring."""

from dataclasses import dataclass
from enum import StrEnum

from fabella.errors import EvidenceError
from fabella.evidence.source import Sourced, require


class StudySex(StrEnum):
    """Whose values they are."""

    FEMALE = "female"
    MALE = "male"
    BOTH = "both"


class NormAbout(StrEnum):
    """What the number of a norm is about."""

    ABSOLUTE = "absolute"  # one knee
    SIDE_DIFFERENCE = "side_difference"
    RATIO_TO_OTHER_SIDE = "ratio_to_other_side"
    CLASSIFICATION = "classification"


class LoHi(StrEnum):
    """What the two ends of a norm are; only some of them may judge one patient."""

    CI95_MEAN = "ci95_mean"
    REF_RANGE = "ref_range"
    REF_RANGE_PROPOSED = "ref_range_proposed"
    PM2SD_COMPUTED = "pm2sd_computed"  # mean -/+ 2 SD, worked out here
    PM2SD_PUBLISHED = "pm2sd_published"
    PM196SD_LIMIT_RANGE = "pm196sd_limit_range"  # lowest and highest of several limits
    OBSERVED_RANGE = "observed_range"
    MEANS_RANGE = "means_range"
    APPROX_MEAN_RANGE = "approx_mean_range"
    LOA95 = "loa95"  # where 95 % of healthy people lie
    CLASSIFICATION_BOUNDS = "classification_bounds"
    TEXTBOOK_RANGE = "textbook_range"
    FUNCTIONAL_MINIMUM = "functional_minimum"  # what a task needs
    NONE = "none"


_JUDGES_ONE_PATIENT = {
    LoHi.REF_RANGE,
    LoHi.REF_RANGE_PROPOSED,
    LoHi.PM2SD_COMPUTED,
    LoHi.PM2SD_PUBLISHED,
    LoHi.LOA95,
    LoHi.CLASSIFICATION_BOUNDS,
    LoHi.TEXTBOOK_RANGE,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Norm(Sourced):
    """A normal value of a measurement in people of one age and sex.

    Angles: flexion, hyperextension, valgus, external rotation and out-toeing positive.

    Parameters
    ----------
    measure_id, name, unit
        What is measured and its unit.
    age_band, age_from_years, age_below_years, sex
        Whose value: as printed, and as ages from (inclusive) to below (None: no end).
    about
        Whether it is about one knee, the difference, or the ratio of both.
    mean, sd
        In the unit; None where not stated.
    low, high, lohi
        The two ends, None where not stated, and what they are: see `cutoff`.
    n
        People or knees [-]; None where not stated.

    Raises
    ------
    EvidenceError
        When the source is missing, the ends are reversed or SD or ages make no sense.
    """

    measure_id: str
    name: str
    unit: str
    age_band: str
    age_from_years: float
    age_below_years: float | None
    sex: StudySex
    about: NormAbout
    mean: float | None
    sd: float | None
    low: float | None
    high: float | None
    lohi: LoHi
    n: int | None
    notes: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        require(self, "lohi", LoHi)
        if self.low is not None and self.high is not None and self.low > self.high:
            raise EvidenceError(f"low {self.low} is above high {self.high}")
        if (self.lohi is LoHi.NONE) != (self.low is None and self.high is None):
            raise EvidenceError(f"ends and their kind disagree: {self.low}, {self.high}, '{self.lohi}'")
        if self.sd is not None and self.sd <= 0:
            raise EvidenceError(f"a standard deviation of {self.sd}")
        if self.age_below_years is not None and self.age_below_years <= self.age_from_years:
            raise EvidenceError(
                f"ages from {self.age_from_years} to below {self.age_below_years} are nobody's"
            )

    @property
    def cutoff(self) -> tuple[float | None, float | None] | None:
        """The limits that may judge one patient, low and high; None when the ends may not.

        An interval of confidence for a mean says where the mean lies, not where people do: used as a
        cut-off it would call most healthy knees abnormal. Ranges of means or extremes are refused too.
        """
        return (self.low, self.high) if self.lohi in _JUDGES_ONE_PATIENT else None

    def holds_for(self, *, age_years: float | None, sex: StudySex | None) -> bool:
        """Return whether the norm is about people of this age and sex; None leaves the question open."""
        below = self.age_below_years
        of_age = age_years is None or (
            self.age_from_years <= age_years and (below is None or age_years < below)
        )
        return of_age and (sex in {None, StudySex.BOTH} or self.sex in {sex, StudySex.BOTH})


class ErrorStatistic(StrEnum):
    """Which measure of error or agreement; a 90 % and a 95 % detectable change are different things."""

    SEM = "SEM"
    SEM95 = "SEM95"  # 1.96 x SEM
    MDC90 = "MDC90"
    MDC95 = "MDC95"
    MSD = "MSD"  # minimum significant difference
    SRD95 = "SRD95"  # smallest real difference
    SDD = "SDD"  # smallest detectable difference
    LOA = "LoA"  # limits of agreement
    BIAS = "bias"
    ICC = "ICC"
    KAPPA = "kappa"
    CONCORDANCE = "concordance"
    RELIABILITY_COEFFICIENT = "reliability_coefficient"
    MEAN_ABSOLUTE_ERROR = "mean_absolute_error"
    PROPORTIONAL_ERROR = "proportional_error"
    SD_BETWEEN_FILMS = "SD_between_films"
    COMPLETE_AGREEMENT = "complete_agreement"
    IMPORTANT_DIFFERENCE = "important_difference"


_CHANGE_LEVEL = {
    ErrorStatistic.MDC90: 0.90,
    ErrorStatistic.MDC95: 0.95,
    ErrorStatistic.MSD: 0.95,
    ErrorStatistic.SRD95: 0.95,
    ErrorStatistic.SDD: 0.95,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurementError(Sourced):
    """One published error of a measurement taken in one way.

    Parameters
    ----------
    measure_id, method, comparison
        What is measured, with what, and between whom or when (``intra``, ``inter``, ``retest`` …).
    statistic, end
        Which figure; ``low`` or ``high`` when it is one end of a published range, else empty.
    value, unit
        In the unit; value None where the source prints only a verdict, unit empty for a pure number.

    Raises
    ------
    EvidenceError
        When the source is missing.
    """

    measure_id: str
    method: str
    comparison: str
    statistic: ErrorStatistic
    end: str
    value: float | None
    unit: str
    notes: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        require(self, "statistic", ErrorStatistic)

    @property
    def change_level(self) -> float | None:
        """Confidence [-] with which a larger change is real: 0.90, 0.95, or None for other statistics."""
        return _CHANGE_LEVEL.get(self.statistic)
