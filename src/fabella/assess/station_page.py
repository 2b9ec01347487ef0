"""The numbers of one station's page: how it scored, how it agrees with the grade and with the exam."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan

import numpy as np

from fabella.assess.classical import Alpha, alpha
from fabella.assess.decided import Results
from fabella.assess.marks import Marks, Numbers
from fabella.assess.pass_mark import station_weights
from fabella.assess.timing import StationTiming


@dataclass(frozen=True, slots=True, kw_only=True)
class StationPage:
    """What a station's page shows; scores in percent.

    ``n_missing`` counts candidates without a score; ``alpha_without`` is the exam's alpha without the station
    and ``raises_alpha`` whether that is higher; ``within`` is alpha over the station's own items, which is
    another question; ``r2``, ``slope`` and ``contradictions`` are those of the line of score on grade (NaN
    and 0 with other methods); ``rests_on`` counts the sheets that the pass mark rests on most: those graded
    borderline, or the smaller of two contrasting groups (None with methods that ask no grades); ``share`` is
    what the station counts of the exam [-].
    """

    station: str
    n: int
    n_missing: int
    mean: float
    sd: float
    cut: float
    failing: int
    alpha_without: float
    raises_alpha: bool
    corrected_r: float
    within: Alpha
    r2: float
    slope: float
    contradictions: int
    rests_on: int | None
    timed_out: int
    share: float


def station_pages(marks: Marks, results: Results, timing: Sequence[StationTiming]) -> tuple[StationPage, ...]:
    """Return the numbers of every station's page, in the order of the exam; timing as by `analyse_timing`."""
    scores, found = results.scores.station, results.pass_mark
    weights = station_weights(marks.blueprint)
    whole, shares, pages = results.alpha, weights / weights.sum(), []
    borderline = marks.blueprint.grades.values.index(marks.blueprint.grades.borderline)
    for s, code in enumerate(marks.blueprint.station_codes):
        column = scores[:, s]
        x = column[~np.isnan(column)]
        at = whole.stations.index(s) if s in whole.stations else None
        line = found.lines[s] if found.lines else None
        group = found.groups[s] if found.groups else None
        cut = found.station_cuts[s]
        pages.append(
            StationPage(
                station=code,
                n=len(x),
                n_missing=len(column) - len(x),
                mean=float(x.mean()) if len(x) else nan,
                sd=float(x.std(ddof=1)) if len(x) > 1 else nan,
                cut=cut,
                failing=int((np.round(x, 6) < round(cut, 6)).sum()),
                alpha_without=nan if at is None else whole.if_deleted[at],
                raises_alpha=s in whole.raises,
                corrected_r=nan if at is None else whole.corrected_r[at],
                within=alpha(_item_scores(marks, s)),
                r2=line.r2 if line else nan,
                slope=line.slope if line else nan,
                contradictions=len(line.contradictions) if line else 0,
                rests_on=line.per_grade[borderline] if line else group.n if group else None,
                timed_out=timing[s].timed_out,
                share=float(shares[s]),
            )
        )
    return tuple(pages)


def _item_scores(marks: Marks, station: int) -> Numbers:
    rows = marks.station[marks.sheet] == station
    n_items = len(marks.blueprint.stations[station].items)
    return np.asarray(marks.mark[rows].reshape(-1, n_items), dtype=np.float64)
