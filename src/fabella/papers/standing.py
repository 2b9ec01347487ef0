"""Where a candidate stands beside pass mark and cohort: on the whole, and station by station."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isnan

from fabella.papers.cohort import Cohort


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a candidate stands at a station, or on the whole [%]; NaN for what is not known.

    ``low`` and ``high`` are the ends of the middle half of all candidates.
    """

    title: str
    own: float
    error: float
    cut: float
    low: float
    high: float

    @property
    def verdict(self) -> str:
        """How the score compares with the pass mark, in a word or two."""
        if isnan(self.own):
            return "no score"
        return "passed" if round(self.own, 6) >= round(self.cut, 6) else "below"


def standings(cohort: Cohort, place: int) -> tuple[Standing, ...]:
    """Return where a candidate stands, by their place: on the whole, then station by station."""
    decision = cohort.results.decisions[place]
    low, high = cohort.middle
    whole = Standing(
        title="The whole exam",
        own=decision.total,
        error=decision.sem,
        cut=decision.pass_mark,
        low=low,
        high=high,
    )
    return (whole, *at_stations(cohort, place))


def at_stations(cohort: Cohort, place: int) -> Iterator[Standing]:
    """Yield where a candidate stands at each station, by their place."""
    scores, cuts = cohort.results.scores.station, cohort.results.pass_mark.station_cuts
    for number, title in enumerate(cohort.weighted_titles):
        low, high = cohort.middles[number]
        yield Standing(
            title=title,
            own=float(scores[place, number]),
            error=cohort.station_error,
            cut=float(cuts[number]),
            low=low,
            high=high,
        )
