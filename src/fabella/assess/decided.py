"""What was decided about the candidates of an exam, and by which rules."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fabella.assess.classical import Alpha
from fabella.assess.pass_mark import PassMark
from fabella.assess.rounding import DIGITS
from fabella.assess.rules import ErrorOf, Rules
from fabella.assess.scores import Scores


class Outcome(StrEnum):
    """What became of a candidate; too little evidence is never a failure."""

    PASS = "pass"  # noqa: S105 - no secret
    FAIL = "fail"
    INSUFFICIENT = "insufficient_evidence"


class Reason(StrEnum):
    """Why a candidate did not pass."""

    BELOW_PASS_MARK = "below_pass_mark"  # noqa: S105 - no secret
    TOO_FEW_PASSED = "too_few_stations_passed"
    CRITICAL = "critical_items_failed"
    TOO_FEW_TAKEN = "too_few_stations_taken"


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What was decided about one candidate and everything it rests on; scores and cuts in percent.

    Parameters
    ----------
    candidate, outcome, reasons
        Who, what, and by which rules, all that apply.
    total, cut, pass_mark, margin
        Score, the mean cut of the stations taken, that cut with the allowance for measurement error, and
        score minus pass mark; NaN without any station.
    sem
        Standard error of measurement of the score over the stations taken [%], as by `own_errors`; NaN where
        the exam gives none.
    lowest, highest
        The score if every station without one were 0 or full; marks that were filled in stay so.
    stations_taken, stations_passed, stations_needed
        Counts; a need of 0 where the rule is off.
    failed_stations, missing_stations
        Codes of stations below their cut, and of those without a score.
    critical_failed
        Critical items the candidate was seen to earn nothing on, as ``station/item``.
    review
        True for one near enough to the pass mark that a second look is due.
    """

    candidate: str
    outcome: Outcome
    reasons: tuple[Reason, ...]
    total: float
    cut: float
    pass_mark: float
    margin: float
    sem: float
    lowest: float
    highest: float
    stations_taken: int
    stations_passed: int
    stations_needed: int
    failed_stations: tuple[str, ...]
    missing_stations: tuple[str, ...]
    critical_failed: tuple[str, ...]
    review: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Results:
    """The decisions of an exam with what they rest on.

    Parameters
    ----------
    marks_digest
        Of the marks, as by `digest`.
    rules, scores, pass_mark
        What was applied to them.
    alpha
        Internal consistency of the exam score over its stations, as they count.
    sem
        Standard error of measurement of the exam score [%] of whoever took every station that was held.
    se_decision
        sqrt(SEM^2 + SE(cut)^2) [%].
    predicted_stations
        Number of stations passed that is predicted at the cut, before rounding; NaN where the rule is off.
    decisions
        One a candidate, in the order of the marks.
    """

    marks_digest: str
    rules: Rules
    scores: Scores
    pass_mark: PassMark
    alpha: Alpha
    sem: float
    se_decision: float
    predicted_stations: float
    decisions: tuple[Decision, ...]

    @property
    def allowance(self) -> float:
        """Return what the rules add to each pass mark for the error of measurement [%], over all stations."""
        return self.rules.sem_multiple * self.sem if self.rules.sem_multiple else 0.0

    def error_of(self, decision: Decision) -> float:
        """Return the standard error that the rules hold a candidate to [%]: their own, or one for all."""
        return decision.sem if self.rules.error_of is ErrorOf.TAKEN else self.sem

    @property
    def with_other_error(self) -> tuple[Decision, ...]:
        """Return the decisions about whoever took other stations than all that were held."""
        return tuple(each for each in self.decisions if abs(each.sem - self.sem) > 10**-DIGITS)
