"""The plain data in which a sign or a source is described: text and numbers only, ready for JSON."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainNumber:
    """A number with its ends, what they are (``interval``, ``level``) and what it rests on."""

    value: float | None
    low: float | None
    high: float | None
    interval: str
    level: float | None
    standing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainSource:
    """A source in words."""

    key: str
    short: str
    citation: str
    identifier: str
    kind: str
    remark: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rival:
    """One source's accuracy of the sign, in its place among its rivals."""

    source: PlainSource
    used: bool
    barred: bool
    reason: str
    sensitivity: PlainNumber | None
    specificity: PlainNumber | None
    lr_positive: PlainNumber | None
    lr_negative: PlainNumber | None
    counts: tuple[int | None, int | None, int | None, int | None] | None  # tp, fp, fn, tn
    knees: int | None
    studies: int | None
    design: str
    population: str
    setting: str
    acuity: str
    anaesthesia: str
    reference_standard: str
    standing: str
    notes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """How well the sign, read in one way, speaks for a target: rivals in order, which is used and why."""

    target: str
    finding_level: str
    used: str  # key of the source, empty when none can be used
    reason: str
    rivals: tuple[Rival, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AgreementRow:
    """How far examiners agree on the sign, in one source."""

    source: PlainSource
    name: str
    statistic: str
    comparison: str
    summary: str
    number: PlainNumber | None
    knees: int | None
    raters: int | None
    population: str
    standing: str
    notes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SignEvidence:
    """Everything an edition knows of a sign."""

    edition: str
    sign_id: str
    name: str
    questions: tuple[Question, ...]
    agreement: tuple[AgreementRow, ...]
    gaps: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SignSummary:
    """One line of the list of signs: how many sources speak of its accuracy and of agreement on it."""

    sign_id: str
    name: str
    accuracy_sources: int
    agreement_sources: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceEvidence:
    """What an edition takes from a source: for each kind of table, what the rows are about."""

    edition: str
    source: PlainSource
    rows: dict[str, int]
    recalled: int
    subjects: dict[str, tuple[str, ...]]
