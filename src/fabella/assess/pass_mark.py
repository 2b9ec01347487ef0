"""The pass mark of an exam, and what it means for a candidate who missed a station."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.assess.angoff_rounds import AngoffRound
from fabella.assess.blueprint import Blueprint
from fabella.assess.borderline_regression import Line
from fabella.assess.compromise import CohortCut
from fabella.assess.groups import GroupCut
from fabella.assess.marks import Numbers
from fabella.assess.rules import CutMethod
from fabella.assess.scores import Scores, weighted_mean
from fabella.stats import Interval


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PassMark:
    """The pass mark of an exam, in percent.

    Parameters
    ----------
    method
        How it was set.
    cut
        Mean of the stations' cuts by their weights, or the cut of the whole exam, with the 95 % interval of
        resampled candidates (of the judges' spread, by t, for Angoff's method; none for a fixed cut).
    se
        Standard error by resampling, or by the judges' spread; NaN where neither tells it.
    se_independent
        Standard error by formula as if stations did not share candidates; NaN where there is no formula.
    station_cuts, station_ses
        One a station; the one cut of the exam, and NaN, for methods that look at the exam as a whole.
    resampled
        Cut of each station in each resample, shape (resamples, stations); no rows where nothing is resampled.
    lines, groups, rounds, cohort
        What the method found on its way; empty or None for the other methods. A round is None if it was of
        other stations or items than the exam has.
    without_cut
        Positions of stations for which the method gives no cut.
    """

    method: CutMethod
    cut: Interval
    se: float
    se_independent: float
    station_cuts: tuple[float, ...]
    station_ses: tuple[float, ...]
    resampled: Numbers
    lines: tuple[Line, ...] = ()
    groups: tuple[GroupCut, ...] = ()
    rounds: tuple[AngoffRound | None, ...] = ()
    cohort: CohortCut | None = None
    without_cut: tuple[int, ...] = ()

    @property
    def tells_station_errors(self) -> bool:
        """Whether any station's cut has a standard error of its own."""
        return any(se > 0 for se in self.station_ses)


def own_cuts(pass_mark: PassMark, scores: Scores, blueprint: Blueprint) -> Numbers:
    """Return each candidate's own pass mark [%], that of the stations taken, shape (candidates,)."""
    cuts = np.where(np.isnan(scores.station), np.nan, np.array(pass_mark.station_cuts))
    return weighted_mean(cuts, station_weights(blueprint))[0]


def enough_taken(scores: Scores, least_stations: float) -> NDArray[np.bool_]:
    """Return who took stations enough for a decision, shape (candidates,); nobody who took none.

    Parameters
    ----------
    scores
        Of the exam.
    least_stations
        Share of the stations that were not void [-].
    """
    share = scores.share_taken
    with np.errstate(invalid="ignore"):
        return np.asarray(~np.isnan(scores.total) & (share >= least_stations))


def station_weights(blueprint: Blueprint) -> Numbers:
    """Return the weight of each station."""
    return np.array([station.weight for station in blueprint.stations])
