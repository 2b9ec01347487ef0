"""Columns that are 0 or 1, and rows that bound sums of them: a mixed-integer programme, solved by HiGHS."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from fabella.stats.deferred import scipy

_GAP = 0.05  # a solution so near the best is as good to those who live by it

Chosen = npt.NDArray[np.bool_]


@dataclass(slots=True)
class Programme:
    """Columns that are 0 or 1 with their costs, and rows that bound sums of them."""

    costs: list[float] = field(default_factory=list)
    rows: list[Mapping[int, float]] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)

    def column(self, cost: float) -> int:
        """Add a column and return its number."""
        self.costs.append(cost)
        return len(self.costs) - 1

    def row(self, columns: Mapping[int, float], low: float, high: float) -> None:
        """Bound a sum of columns, each times its factor."""
        self.rows.append(columns)
        self.low.append(low)
        self.high.append(high)

    def total(self, columns: Iterable[int], low: float, high: float) -> None:
        """Bound how many of some columns are 1."""
        self.row(dict.fromkeys(columns, 1.0), low, high)

    def solve(self, seconds: float) -> Chosen | None:
        """Return the columns that are 1, None when there is no way or none was found in time."""
        at = [(row, column, factor) for row, each in enumerate(self.rows) for column, factor in each.items()]
        rows, columns, factors = (np.array(each) for each in zip(*at, strict=True))
        matrix = scipy.sparse.coo_array(
            (factors, (rows, columns)), shape=(len(self.rows), len(self.costs))
        ).tocsr()
        found = scipy.optimize.milp(
            np.array(self.costs),
            integrality=np.ones(len(self.costs), dtype=int),
            bounds=scipy.optimize.Bounds(0, 1),
            constraints=scipy.optimize.LinearConstraint(matrix, self.low, self.high),
            options={"time_limit": seconds, "mip_rel_gap": _GAP},
        )
        return None if found.x is None else np.rint(found.x) == 1
