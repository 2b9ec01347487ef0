"""The rules of an exam, fixed before the day: how the pass mark is set and who passes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from fabella.assess.angoff_rounds import Estimates
from fabella.assess.compromise import Bounds
from fabella.assess.scores import ITEMS_PRORATED, LARGEST_SHARE, MOST_PRORATED
from fabella.errors import Problem, Problems


class CutMethod(StrEnum):
    """How the pass mark is set."""

    BORDERLINE_REGRESSION = "borderline_regression"
    BORDERLINE_GROUP_MEAN = "borderline_group_mean"
    BORDERLINE_GROUP_MEDIAN = "borderline_group_median"
    CONTRASTING_INTERSECTION = "contrasting_intersection"
    CONTRASTING_LOGISTIC = "contrasting_logistic"
    CONTRASTING_LEAST_LOSS = "contrasting_least_loss"
    ANGOFF = "angoff"
    HOFSTEE = "hofstee"
    COHEN = "cohen"
    FIXED = "fixed"


class StationsRule(StrEnum):
    """How many stations must be passed: any number, as many as predicted at the pass mark, or a number."""

    NONE = "none"
    PREDICTED = "predicted"
    FIXED = "fixed"


class Rounding(StrEnum):
    """How a predicted number of stations becomes a whole one."""

    DOWN = "down"
    NEAREST = "nearest"
    UP = "up"


class Unreached(StrEnum):
    """What an item is worth that the bell came before: nothing known, as any mark that is missing; or 0."""

    MISSING = "missing"
    NOT_DONE = "not_done"


class ErrorOf(StrEnum):
    """Over which stations a candidate's standard error of measurement is taken: those taken, or all."""

    TAKEN = "taken"
    ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Everything besides the marks that a decision rests on.

    Parameters
    ----------
    method
        How the pass mark is set.
    estimates
        Rounds of Angoff's method, of stations by their codes or of all items as ``station/item``.
    bounds
        What the judges of Hofstee's method accept, cuts in percent.
    cohen_guessing, cohen_share, cohen_percentile
        Of Cohen's method [%], [-], [%].
    fixed_cut
        A pass mark decided otherwise [%].
    false_pass, false_fail
        Losses for the contrasting groups of least loss [-].
    sem_multiple
        How many standard errors of measurement are added to the pass mark, from 0 [-].
    sem
        Standard error of measurement of the exam score [%] over all its stations, such as the absolute error
        of a generalizability study; None for that of alpha.
    error_of
        Whether whoever took fewer stations is held to the larger error of those, or all to one error.
    stations, stations_needed, rounding
        The rule for the number of stations passed; `stations_needed` only if fixed.
    most_critical_failed
        How many failed critical items are forgiven; None when they do not decide.
    most_prorated, least_stations
        Shares [-] up to which marks may be prorated and from which stations suffice for a decision.
    items_prorated
        How many items of a sheet may be prorated also where that is more than `most_prorated` of it [-].
    largest_prorated
        Share of a sheet's marks [-] that those may be worth at most.
    unreached
        What an item counts that was not reached before the bell.
    review_sems
        Who lies within so many standard errors of their pass mark is reviewed [-].
    resamples
        How often candidates are resampled for standard errors.
    within_circuits
        True to resample candidates within their circuits.
    """

    method: CutMethod = CutMethod.BORDERLINE_REGRESSION
    estimates: tuple[Estimates, ...] = ()
    bounds: tuple[Bounds, ...] = ()
    cohen_guessing: float = 0.0
    cohen_share: float = 0.60
    cohen_percentile: float = 95.0
    fixed_cut: float | None = None
    false_pass: float = 1.0
    false_fail: float = 1.0
    sem_multiple: float = 0.0
    sem: float | None = None
    stations: StationsRule = StationsRule.NONE
    stations_needed: int | None = None
    rounding: Rounding = Rounding.NEAREST
    most_critical_failed: int | None = None
    most_prorated: float = MOST_PRORATED
    least_stations: float = 0.80
    review_sems: float = 1.0
    resamples: int = 2000
    within_circuits: bool = False
    items_prorated: int = ITEMS_PRORATED
    unreached: Unreached = Unreached.MISSING
    error_of: ErrorOf = ErrorOf.TAKEN
    largest_prorated: float = LARGEST_SHARE

    def __post_init__(self) -> None:
        Problems(_wrong(self)).raise_any()

    @property
    def by_score_alone(self) -> bool:
        """Whether nothing but the whole score decides: no number of stations, no critical item."""
        return self.stations is StationsRule.NONE and self.most_critical_failed is None


def _wrong(rules: Rules) -> list[Problem]:
    ends = [n for b in rules.bounds for n in (b.lowest_cut, b.highest_cut, b.least_fails, b.most_fails)]
    needs = {
        CutMethod.ANGOFF: (bool(rules.estimates), "estimates", "give a round of estimates"),
        CutMethod.HOFSTEE: (bool(rules.bounds), "bounds", "give the bounds of a judge"),
        CutMethod.FIXED: (rules.fixed_cut is not None, "fixed_cut", "give a cut in percent"),
    }
    claims = (
        needs.get(rules.method, (True, "", "")),
        (all(map(isfinite, ends)), "bounds", "use numbers"),
        (_within(rules.fixed_cut, 0, 100), "fixed_cut", "use 0 to 100 percent"),
        (_within(rules.cohen_guessing, 0, 100), "cohen_guessing", "use 0 to 100 percent"),
        (0 < rules.cohen_share <= 1, "cohen_share", "use a share above 0, to 1"),
        (0 < rules.cohen_percentile <= 100, "cohen_percentile", "use above 0, to 100"),
        (rules.false_pass > 0 and rules.false_fail > 0, "false_pass, false_fail", "use numbers above 0"),
        (_within(rules.sem_multiple, 0, 5), "sem_multiple", "use 0 to 5"),
        (_within(rules.sem, 0, 100), "sem", "use 0 to 100 percent"),
        (
            (rules.stations is StationsRule.FIXED) == (rules.stations_needed is not None),
            "stations_needed",
            "give it if, and only if, stations is 'fixed'",
        ),
        (_whole(rules.stations_needed, 0, 10_000), "stations_needed", "use a whole number from 0"),
        (_whole(rules.most_critical_failed, 0, 10_000), "most_critical_failed", "use a whole number from 0"),
        (_within(rules.most_prorated, 0, 1), "most_prorated", "use a share from 0 to 1"),
        (_whole(rules.items_prorated, 0, 10_000), "items_prorated", "use a whole number from 0"),
        (_within(rules.largest_prorated, 0, 1), "largest_prorated", "use a share from 0 to 1"),
        (_within(rules.least_stations, 0, 1), "least_stations", "use a share from 0 to 1"),
        (_within(rules.review_sems, 0, 5), "review_sems", "use 0 to 5"),
        (_whole(rules.resamples, 200, 100_000), "resamples", "use a whole number from 200 to 100000"),
        (isinstance(rules.within_circuits, bool), "within_circuits", "use true or false"),
    )
    return [
        Problem(place=place, value=str(getattr(rules, place, "")), says="does not do", remedy=remedy)
        for holds, place, remedy in claims
        if not holds
    ]


def _whole(value: object, low: int, high: int) -> bool:
    return value is None or (isinstance(value, int) and value is not True and low <= value <= high)


def _within(value: float | None, low: float, high: float) -> bool:
    return value is None or (isfinite(value) and low <= value <= high)
