"""An exam as feedback needs it: everything that is the same for all its candidates, worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import numpy as np

from fabella.assess import ItemTable, Marks, Results, domain_errors, item_table, weigh_domains
from fabella.exam import Station

_FEWEST = 5  # candidates, below which the middle half would tell of persons


@dataclass(frozen=True, kw_only=True)
class Cohort:
    """An exam with everything that feedback needs of it, worked out once for all candidates.

    ``comments`` are what examiners wrote on the whole for a candidate: code of the station, and text.
    """

    exam: str
    held_on: date
    marks: Marks
    results: Results
    stations: tuple[Station, ...]
    comments: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)

    @cached_property
    def middle(self) -> tuple[float, float]:
        """The range of the middle half of the whole scores [%]."""
        return _middle(self.results.scores.total)

    @cached_property
    def middles(self) -> tuple[tuple[float, float], ...]:
        """The same of the scores at each station [%]."""
        return tuple(map(_middle, self.results.scores.station.T))

    @cached_property
    def weighted_titles(self) -> tuple[str, ...]:
        """The titles of the stations, with what each counts where they do not count the same."""
        weights = [each.weight for each in self.marks.blueprint.stations]
        titles = [each.title for each in self.stations]
        if len(set(weights)) > 1:
            whole = sum(weights)
            titles = [
                f"{title} ({100 * weight / whole:.0f}% of the exam)"
                for title, weight in zip(titles, weights, strict=True)
            ]
        return tuple(titles)

    @cached_property
    def items(self) -> ItemTable:
        """The items of all stations, looked up once."""
        return item_table(self.marks.blueprint)

    @cached_property
    def station_error(self) -> float:
        """The measurement error of the score at one station [%]: what is left beside candidate and station.

        The root of the residual mean square of candidates by stations (common practice); NaN without it.
        """
        whole = self.results.scores.station
        x = whole[~np.isnan(whole).any(axis=1)]
        n, k = x.shape
        if n < _FEWEST or k < 2:  # noqa: PLR2004  no interaction in one column
            return float("nan")
        rest = x - x.mean(axis=0) - x.mean(axis=1, keepdims=True) + x.mean()
        return float(np.sqrt((rest**2).sum() / ((n - 1) * (k - 1))))

    @cached_property
    def rows(self) -> tuple[np.ndarray, ...]:
        """The rows of the item marks of each candidate, in the order of the marks."""
        who = self.marks.candidate[self.marks.sheet]
        order = np.argsort(who, kind="stable")
        return tuple(np.split(order, np.searchsorted(who[order], np.arange(1, self.marks.n_candidates))))

    @cached_property
    def domains(self) -> Mapping[str, tuple[int, np.ndarray, tuple[float, float]]]:
        """Each domain that says more than the whole does: place, the errors [%] of all, middle half."""
        scores = self.results.scores
        worth = weigh_domains(self.marks, scores)
        return {
            name: (
                place,
                domain_errors(self.marks, scores, worth[name], place),
                _middle(scores.domain[:, place]),
            )
            for place, name in enumerate(scores.domains)
            if name in worth and worth[name].worth_showing
        }

    @cached_property
    def facility(self) -> np.ndarray:
        """The mean share of the marks earned on each item [-]."""
        table, marks = self.items, self.marks
        there = ~np.isnan(marks.mark)
        shares = marks.mark[there] / table.max_mark[marks.item[there]]
        n = np.bincount(marks.item[there], minlength=len(table.codes))
        with np.errstate(invalid="ignore"):
            found: np.ndarray = np.bincount(marks.item[there], shares, len(table.codes)) / n
        return found

    def title(self, code: str) -> str:
        """The title of a station; its code where it has left the exam."""
        return next((each.title for each in self.stations if each.id == code), code)


def _middle(values: np.ndarray) -> tuple[float, float]:
    there = values[~np.isnan(values)]
    if len(there) < _FEWEST:
        return float("nan"), float("nan")
    low, high = np.percentile(there, [25, 75])
    return float(low), float(high)
