"""How well a sign tells a lesion from none, as one source found it."""

from dataclasses import dataclass
from enum import StrEnum

from fabella.errors import EvidenceError
from fabella.evidence.numbers import Counts2x2, Estimate, LikelihoodRatio
from fabella.evidence.source import Caution, Sourced, require


class StudySetting(StrEnum):
    """Where the people were seen; accuracy rows were sorted into these by us, from the published words."""

    PRIMARY_CARE = "primary_care"
    EMERGENCY = "emergency"
    SPECIALIST_CLINIC = "specialist_clinic"
    SPORTS_CLINIC = "sports_clinic"
    SURGICAL_COHORT = "surgical_cohort"  # listed for, or found at, an operation
    HOSPITAL = "hospital"  # several of the four above, together
    COMMUNITY = "community"  # people who sought no help
    VOLUNTEERS = "volunteers"  # known injured against known healthy knees
    UNSTATED = "unstated"


class StudyAcuity(StrEnum):
    """How long after the injury or onset."""

    ACUTE = "acute"
    SUBACUTE = "subacute"
    SUBACUTE_CHRONIC = "subacute_chronic"
    CHRONIC = "chronic"
    MOSTLY_CHRONIC = "mostly_chronic"
    MIXED = "mixed"
    ANY = "any"
    SCREENING = "screening"


class Anaesthesia(StrEnum):
    """Whether the patient was awake while examined."""

    AWAKE = "awake"
    ANAESTHETISED = "anaesthetised"
    MIXED = "mixed"
    UNSTATED = "unstated"


class Design(StrEnum):
    """How the numbers came about, the strongest first."""

    OWN_POOLED = "own_pooled"  # pooled by us from study-level counts
    BIVARIATE_POOLED = "bivariate_pooled"
    POOLED = "pooled"
    PRIMARY = "primary"


_HOSPITAL = {
    StudySetting.EMERGENCY,
    StudySetting.SPECIALIST_CLINIC,
    StudySetting.SPORTS_CLINIC,
    StudySetting.SURGICAL_COHORT,
}
_ACUITIES = {
    StudyAcuity.ACUTE: {StudyAcuity.ACUTE},
    StudyAcuity.SUBACUTE: {StudyAcuity.SUBACUTE, StudyAcuity.SUBACUTE_CHRONIC},
    StudyAcuity.CHRONIC: {StudyAcuity.CHRONIC, StudyAcuity.MOSTLY_CHRONIC, StudyAcuity.SUBACUTE_CHRONIC},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Accuracy(Sourced):
    """One row of accuracy: a sign, how it was read, a target, and what one source found in one population.

    Parameters
    ----------
    sign_id, sign_name, finding_level, target
        The sign, how it was read (``positive``, ``pain``, ``>=25000 per uL``) and the lesion it speaks for.
    population, setting, acuity, anaesthesia, reference_standard
        In whom, where, when, awake or not, and against what truth.
    sensitivity, specificity
        Shares [-], 0 to 1; None where not stated.
    likelihood_ratio
        As stated by the source; None when it states none, even where an accuracy is known.
    counts
        Knees by finding and truth; None when neither printed nor recoverable.
    studies, knees
        How many of each [-]; None where not stated.
    design, composite, independent
        How the numbers came about; whether several signs were judged together; False when the same knees
        are counted in another row too.
    caution
        Why this row stands last, if it does.
    notes
        What else the table says.

    Raises
    ------
    EvidenceError
        When the source is missing or a share leaves 0 to 1.
    """

    sign_id: str
    sign_name: str
    finding_level: str
    target: str
    population: str
    setting: StudySetting
    acuity: StudyAcuity
    anaesthesia: Anaesthesia
    reference_standard: str
    sensitivity: Estimate | None
    specificity: Estimate | None
    likelihood_ratio: LikelihoodRatio | None
    counts: Counts2x2 | None
    studies: int | None
    knees: int | None
    design: Design
    composite: bool = False
    independent: bool = True
    caution: Caution = Caution.NONE
    notes: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        require(self, "design", Design)
        for name, share in (("sensitivity", self.sensitivity), ("specificity", self.specificity)):
            if share is not None and not share.within(0, 1):
                raise EvidenceError(f"{name} {share.value} ({share.low}, {share.high}) is not within 0 to 1")

    @property
    def pair(self) -> tuple[float, float] | None:
        """Sensitivity and specificity, None unless both have a value."""
        if self.sensitivity is None or self.specificity is None:
            return None
        if self.sensitivity.value is None or self.specificity.value is None:
            return None
        return self.sensitivity.value, self.specificity.value

    @property
    def poolable(self) -> bool:
        """Whether this row may enter a pooled estimate: a primary study with all four cells, counted once."""
        complete = self.counts is not None and self.counts.complete
        return self.design is Design.PRIMARY and complete and self.independent

    def suits_setting(self, wanted: StudySetting | None) -> bool:
        """Return whether the row holds for a setting; None asks for none in particular."""
        pooled_over = self.setting is StudySetting.HOSPITAL and wanted in _HOSPITAL
        return wanted is None or self.setting in {wanted, StudySetting.UNSTATED} or pooled_over

    def suits_acuity(self, wanted: StudyAcuity | None) -> bool:
        """Return whether the row holds for an acuity; None asks for none in particular."""
        if wanted is None or self.acuity in {wanted, StudyAcuity.ANY, StudyAcuity.MIXED}:
            return True
        return self.acuity in _ACUITIES.get(wanted, set())
