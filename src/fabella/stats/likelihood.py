"""Two-by-two tables, likelihood ratios, and what a finding does to a probability."""

from dataclasses import dataclass
from math import exp, inf, log, sqrt

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


def ratios_from_accuracy(*, sensitivity: float, specificity: float) -> tuple[float, float]:
    """Return LR+ and LR- that follow from a sensitivity and a specificity.

    A ratio that follows from pooled accuracies is not the pooled ratio: say which one is used.

    Parameters
    ----------
    sensitivity
        Share of the diseased who test positive [-], 0 to 1.
    specificity
        Share of the healthy who test negative [-], strictly between 0 and 1, or one ratio has no value.

    Raises
    ------
    InputError
        When either is out of range.
    """
    check(
        (0 <= sensitivity <= 1, "sensitivity", sensitivity, "use a share from 0 to 1"),
        (
            0 < specificity < 1,
            "specificity",
            specificity,
            "use a share between 0 and 1; for 0 or 1 use counts",
        ),
    )
    return sensitivity / (1 - specificity), (1 - sensitivity) / specificity


def odds(probability: float) -> float:
    """Return the odds p/(1-p) [-] of a probability from 0 to 1; certainty has infinite odds."""
    check((0 <= probability <= 1, "probability", probability, "use a share from 0 to 1"))
    return probability / (1 - probability) if probability < 1 else inf


def probability(odds: float) -> float:
    """Return the probability o/(1+o) [-] of odds from 0 upwards; infinite odds are certainty."""
    check((odds >= 0, "odds", odds, "use a number from 0 upwards"))
    return odds / (1 + odds) if odds < inf else 1.0


def post_test(*, pre_test: float, likelihood_ratio: float) -> float:
    """Return the probability of disease after a result: its odds times the likelihood ratio.

    Parameters
    ----------
    pre_test
        Probability of disease before the result [-], 0 to 1.
    likelihood_ratio
        Ratio of the result [-], from 0, finite.

    Raises
    ------
    InputError
        When either is out of range.
    """
    check(
        (0 <= pre_test <= 1, "pre_test", pre_test, "use a share from 0 to 1"),
        (0 <= likelihood_ratio < inf, "likelihood_ratio", likelihood_ratio, "use a finite number from 0"),
    )
    if pre_test == 1:
        return 1.0  # no result moves a certainty, not even one impossible in disease
    with_disease = pre_test * likelihood_ratio
    return with_disease / (with_disease + (1 - pre_test))


def _ratio(in_diseased: float, diseased: float, in_healthy: float, healthy: float, level: float) -> Interval:
    middle = log(in_diseased / diseased) - log(in_healthy / healthy)
    reach = normal_quantile(level) * sqrt(1 / in_diseased - 1 / diseased + 1 / in_healthy - 1 / healthy)
    return Interval(estimate=exp(middle), low=exp(middle - reach), high=exp(middle + reach), level=level)
