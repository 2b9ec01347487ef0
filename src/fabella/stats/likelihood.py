"""Two-by-two tables and likelihood ratios."""

from dataclasses import dataclass
from math import exp, log, sqrt

from fabella.stats.intervals import Interval, check, level_claim, normal_quantile, wilson


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoByTwo:
    """The counts of one accuracy study: a test against the truth.

    Parameters
    ----------
    tp, fp, fn, tn
        True positives, false positives, false negatives, true negatives [-]; whole numbers from 0.
    study
        Name by which a message can point to the study; may be empty.

    Raises
    ------
    InputError
        When a count is negative or not whole.
    """

    tp: int
    fp: int
    fn: int
    tn: int
    study: str = ""

    def __post_init__(self) -> None:
        place = f"{self.study}." if self.study else ""
        counts = {"tp": self.tp, "fp": self.fp, "fn": self.fn, "tn": self.tn}
        check(
            *(
                (count >= 0 and count % 1 == 0, place + name, count, "use a whole number from 0")
                for name, count in counts.items()
            )
        )

    def sensitivity(self, level: float = 0.95) -> Interval:
        """Return the share of the diseased whom the test finds, with its Wilson interval."""
        return wilson(successes=self.tp, n=self.tp + self.fn, level=level)

    def specificity(self, level: float = 0.95) -> Interval:
        """Return the share of the healthy whom the test clears, with its Wilson interval."""
        return wilson(successes=self.tn, n=self.tn + self.fp, level=level)


@dataclass(frozen=True, slots=True, kw_only=True)
class LikelihoodRatios:
    """What a positive and a negative result multiply the odds of disease by [-].

    Parameters
    ----------
    positive, negative
        The two ratios with their intervals.
    corrected
        True when a cell was empty and 0.5 was added to all four.
    """

    positive: Interval
    negative: Interval
    corrected: bool


def likelihood_ratios(table: TwoByTwo, *, level: float = 0.95) -> LikelihoodRatios:
    """Return both likelihood ratios of a study with intervals by the log method.

    ln LR+ has variance 1/tp - 1/(tp+fn) + 1/fp - 1/(fp+tn); for ln LR-, fn and tn replace tp and fp.
    When any cell is empty 0.5 is added to all four, so that perfect accuracy in a small study never
    becomes a ratio of 0 or infinity.

    Parameters
    ----------
    table
        Counts of the study; both columns need at least one person.
    level
        Confidence [-], between 0 and 1.

    Raises
    ------
    InputError
        When nobody was diseased, nobody was healthy, or the level is out of range.

    References
    ----------
    Simel, Samsa and Matchar 1991 J Clin Epidemiol 44:763-770 (from memory).
    """
    diseased, healthy = table.tp + table.fn, table.fp + table.tn
    check(
        (diseased > 0, "tp + fn", diseased, "at least one diseased person is needed"),
        (healthy > 0, "fp + tn", healthy, "at least one healthy person is needed"),
        level_claim(level),
    )
    cells = (table.tp, table.fp, table.fn, table.tn)
    corrected = 0 in cells
    tp, fp, fn, tn = (cell + 0.5 * corrected for cell in cells)
    return LikelihoodRatios(
        positive=_ratio(tp, tp + fn, fp, fp + tn, level),
        negative=_ratio(fn, tp + fn, tn, fp + tn, level),
        corrected=corrected,
    )


def _ratio(in_diseased: float, diseased: float, in_healthy: float, healthy: float, level: float) -> Interval:
    middle = log(in_diseased / diseased) - log(in_healthy / healthy)
    reach = normal_quantile(level) * sqrt(1 / in_diseased - 1 / diseased + 1 / in_healthy - 1 / healthy)
    return Interval(estimate=exp(middle), low=exp(middle - reach), high=exp(middle + reach), level=level)
