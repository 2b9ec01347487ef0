"""The other rows: prevalence, company, reliability, grades, rules, milestones and known gaps."""

from dataclasses import dataclass

from fabella.errors import EvidenceError
from fabella.evidence.accuracy import StudySetting
from fabella.evidence.measures import StudySex
from fabella.evidence.numbers import Estimate
from fabella.evidence.source import Sourced


@dataclass(frozen=True, slots=True, kw_only=True)
class Prevalence(Sourced):
    """How common a lesion is among people of one setting, age, sex and stratum (a share, 0 to 1)."""

    lesion: str
    setting: StudySetting
    age_band: str
    sex: StudySex
    stratum: str
    share: Estimate
    n: int | None
    notes: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if not self.share.within(0, 1):
            raise EvidenceError(f"prevalence {self.share.value} is not within 0 to 1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cooccurrence(Sourced):
    """How lesion b keeps company with lesion a: ``P(b|a)`` (0 to 1), a risk ratio or an odds ratio."""

    lesion_a: str
    lesion_b: str
    measure: str
    estimate: Estimate
    n: int | None
    population: str
    notes: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if self.measure == "P(b|a)" and not self.estimate.within(0, 1):
            raise EvidenceError(f"P(b|a) {self.estimate.value} is not within 0 to 1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reliability(Sourced):
    """How far examiners agree on a sign.

    ``statistic`` is a kappa, ICC or share of agreement; ``comparison`` says between whom; ``summary`` is
    ``range``, ``median`` or ``lower_bound`` where several figures stand behind one row; ``estimate`` is
    None where the source gives only a verdict (see the notes).
    """

    sign_id: str
    sign_name: str
    target: str
    statistic: str
    comparison: str
    summary: str
    estimate: Estimate | None
    knees: int | None
    raters: int | None
    population: str
    scale: str
    notes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeBand(Sourced):
    """One grade of a published scale, with its limits as printed.

    ``lower`` and ``upper`` are in ``unit``, None where open or worded only; ``…_strict`` is True when the
    limit itself lies outside. Published bands leave gaps and may touch: whoever grades states the rule.
    """

    scale_id: str
    structure: str
    grade: str
    unit: str
    lower: float | None
    lower_strict: bool
    upper: float | None
    upper_strict: bool
    criterion: str
    notes: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if self.lower is not None and self.upper is not None and self.lower > self.upper:
            raise EvidenceError(f"lower {self.lower} is above upper {self.upper}")

    def contains(self, value: float) -> bool:
        """Return whether a value lies within the printed limits; a grade given in words contains none."""
        if self.lower is None and self.upper is None:
            return False
        above = self.lower is None or value > self.lower or (value == self.lower and not self.lower_strict)
        below = self.upper is None or value < self.upper or (value == self.upper and not self.upper_strict)
        return above and below


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleCriterion(Sourced):
    """One criterion of a published rule, with its threshold and action in our words."""

    rule_id: str
    rule_name: str
    criterion_no: str
    criterion: str
    threshold: str
    action: str
    applies_to: str
    excludes: str
    notes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Milestone(Sourced):
    """What is usual, needed or important some time after an operation or the start of treatment.

    ``statistic`` says what the number is (``mean``, ``threshold``, ``MIC_individual``, ``MDC90`` …).
    """

    item_id: str
    category: str
    procedure_or_population: str
    measure_id: str
    timepoint: str
    statistic: str
    estimate: Estimate
    unit: str
    n: int | None
    notes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Something that was looked for and not found published; it holds no number, so it needs no source."""

    subject: str
    looked_for: str
    note: str
