"""Numbers with their uncertainty: estimates, two-by-two counts, likelihood ratios."""

from dataclasses import dataclass
from enum import StrEnum

from fabella.errors import EvidenceError
from fabella.evidence.source import Sourced


class IntervalKind(StrEnum):
    """What the two ends beside a value are."""

    NONE = "none"
    CONFIDENCE = "confidence"
    PREDICTION = "prediction"
    RANGE = "range"  # lowest and highest, not an interval of confidence
    QUARTILES = "quartiles"
    BOUND = "bound"  # printed only as "above" or "below"


_WITH_LEVEL = {IntervalKind.CONFIDENCE, IntervalKind.PREDICTION}


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate(Sourced):
    """A published number and the ends printed beside it.

    Parameters
    ----------
    value
        The number; None when only a range was printed.
    low, high
        The ends; None where not printed.
    interval
        What the ends are.
    level
        Level of confidence or prediction [-], e.g. 0.95; None for every other kind of ends.

    Raises
    ------
    EvidenceError
        When nothing is given, the ends contradict the value or each other, or kind and ends disagree.
    """

    value: float | None
    low: float | None = None
    high: float | None = None
    interval: IntervalKind = IntervalKind.NONE
    level: float | None = None

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        given = [number for number in (self.low, self.value, self.high) if number is not None]
        ends = self.low is not None or self.high is not None
        if not given:
            raise EvidenceError("an estimate needs a value or a range")
        if given != sorted(given):
            raise EvidenceError(f"low, value and high are out of order: {', '.join(map(str, given))}")
        if ends != (self.interval is not IntervalKind.NONE):
            raise EvidenceError(
                f"ends and kind of interval disagree: {self.low}, {self.high}, '{self.interval}'"
            )
        if (self.level is not None) != (self.interval in _WITH_LEVEL):
            raise EvidenceError(f"an interval of kind '{self.interval}' with level {self.level}")
        if self.level is not None and not 0 < self.level < 1:
            raise EvidenceError(f"level {self.level} is not between 0 and 1")

    def within(self, low: float, high: float) -> bool:
        """Return whether value and ends all lie from ``low`` to ``high``."""
        return all(
            low <= number <= high for number in (self.low, self.value, self.high) if number is not None
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts2x2(Sourced):
    """Knees by finding and truth; a cell that nobody could print or work out is None.

    Parameters
    ----------
    tp, fp, fn, tn
        True positives, false positives, false negatives, true negatives [-], from 0.

    Raises
    ------
    EvidenceError
        When every cell is missing or one is negative.
    """

    tp: int | None
    fp: int | None
    fn: int | None
    tn: int | None

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        given = [cell for cell in self.cells if cell is not None]
        if not given or min(given) < 0:
            raise EvidenceError(f"counts must be whole numbers from 0 and not all missing: {self.cells}")

    @property
    def cells(self) -> tuple[int | None, int | None, int | None, int | None]:
        """The four cells in the order tp, fp, fn, tn."""
        return self.tp, self.fp, self.fn, self.tn

    @property
    def complete(self) -> bool:
        """Whether all four cells are known, so that the study can be pooled."""
        return None not in self.cells


@dataclass(frozen=True, slots=True, kw_only=True)
class LikelihoodRatio(Sourced):
    """Likelihood ratios as their source states them; never worked out here from an accuracy.

    A pooled ratio is not the ratio of pooled accuracies: both are kept, and which is used must be said.

    Parameters
    ----------
    positive, negative
        LR+ and LR- [-], above 0; None where not stated.

    Raises
    ------
    EvidenceError
        When both are missing or a value is 0 or less.
    """

    positive: Estimate | None
    negative: Estimate | None

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        given = [ratio for ratio in (self.positive, self.negative) if ratio is not None]
        if not given:
            raise EvidenceError("a likelihood ratio needs LR+ or LR-")
        if any(ratio.value is None or ratio.value <= 0 for ratio in given):
            raise EvidenceError("a likelihood ratio must be above 0: for perfect accuracy store the counts")
