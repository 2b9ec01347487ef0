"""What the model states of operated knees: what is commoner, mended, usual, or only a review."""

from dataclasses import dataclass

from fabella.evidence.source import Footing


@dataclass(frozen=True, slots=True, kw_only=True)
class AfterOperation(Footing):
    """By what an operation on the knee within a year multiplies the odds of a lesion.

    ``within_weeks``: the last week of healing in which it does; None for the whole year.
    """

    odds: float
    within_weeks: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MendedRate(Footing):
    """How common a lesion is, whatever the age and sex, where it was operated on since the trouble began."""

    rate: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Healing(Footing):
    """How often a knee shows a manifestation, after an operation that went well; numbers as of a `Cause`.

    ``tissue``: only after an operation on "bone" (set or cut) or "ligament" (reconstructed; only that one by
    "anterior_cruciate"); "" after any.
    """

    within_weeks: int
    tissue: str
    manifestation: str
    at_least: tuple[float, ...]
    strength: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Review(Footing):
    """Share (0 to 1) of operated knees said to be complained of that only come for a review, in a period.

    ``operation``: the name of a procedure; ``within_weeks``: the last week of the period.
    """

    operation: str
    within_weeks: int
    share: float
