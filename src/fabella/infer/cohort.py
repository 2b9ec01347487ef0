"""Point posteriors of very many examinations at once, as two matrix products a block.

Within one group of manifestations a knee's findings are one *pattern*; every pattern that occurs gives one
row of log likelihoods over (guarding, state). An examination's log posterior is the sum of the rows of its
patterns and of the prior: a product of a 0/1 matrix with the rows. The few groups with very many patterns are
added one by one. A second product sums the posterior into the probabilities of lesions. Both go through the
states tile by tile, so that what lies between them stays in the cache.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.infer.context import Setting
from fabella.infer.evidence_of import KneeEvidence
from fabella.infer.model import Model
from fabella.infer.posterior import log_prior
from fabella.stats.threads import one_thread

Singles = NDArray[np.float32]

BLOCK = 512
TILE = 2048
"""Examinations computed at once, and columns (guarding, state) they are taken through at a time."""
MOST_PATTERNS = 128
"""With more, a group's patterns are gathered block by block: cheaper than a row for each, and bounded."""
_IN_FLIGHT = 8


@dataclass(frozen=True, slots=True, eq=False)
class Cohort:
    """Knees that share their circumstances.

    ``reports``: reported level of each sign (knees,), 0 = normal, below 0 where it was not done or could not
    be; ``grades``: number of levels above normal of each sign.
    """

    setting: Setting
    reports: Mapping[str, NDArray[np.intp]]
    grades: Mapping[str, int]

    def __len__(self) -> int:
        return len(next(iter(self.reports.values())))


class CohortPosterior:
    """The compiled rows of one cohort; computing is exact up to single precision."""

    def __init__(self, model: Model, cohort: Cohort) -> None:
        prior = log_prior(model, KneeEvidence(setting=cohort.setting, observations=()))
        alive = np.flatnonzero(np.isfinite(prior[0]))
        rows = [_from_highest(prior[:, alive].reshape(1, -1))]
        self._chosen = [np.zeros(len(cohort), dtype=np.intp)]  # everybody has the prior, row 0
        self._wide: list[_Group] = []
        signs = tuple(cohort.reports)
        for name, own in model.by_group(signs).items():
            group = _Group(model, cohort, name, [signs[i] for i in own], alive)
            patterns, which = group.patterns()
            if len(patterns) > MOST_PATTERNS:
                self._wide.append(group)
                continue
            self._chosen.append(which + sum(map(len, rows)))
            rows.append(group.log_likelihood(patterns).take(group.columns, axis=1))
        self._table = np.concatenate(rows)
        membership = np.column_stack([model.membership[alive], np.ones(len(alive))]).astype(np.float32)
        self._membership = np.concatenate([membership, membership])

    @property
    def operations(self) -> float:
        """Return the floating-point operations of the two products over the whole cohort."""
        rows, states = self._table.shape
        return float(2 * len(self._chosen[0]) * states * (rows + self._membership.shape[1]))

    def blocks(self, workers: int = 2) -> Iterator[tuple[slice, Singles]]:
        """Yield (rows, probabilities (rows, quantities of the model)) block by block, in order.

        ``workers`` blocks are computed side by side, each on one thread; memory does not grow with the
        cohort.
        """
        count, step = len(self._chosen[0]), BLOCK
        todo = [slice(start, min(start + step, count)) for start in range(0, count, step)]
        with one_thread(), ThreadPoolExecutor(workers) as pool:
            for start in range(0, len(todo), _IN_FLIGHT):
                group = todo[start : start + _IN_FLIGHT]
                yield from zip(group, pool.map(self._block, group), strict=True)

    def _block(self, rows: slice) -> Singles:
        size = rows.stop - rows.start
        chosen = np.zeros((size, len(self._table)), dtype=np.float32)
        for which in self._chosen:
            chosen[np.arange(size), which[rows]] = 1.0
        wide = []
        for group in self._wide:
            patterns, which = group.patterns(rows)
            wide.append((group.columns, group.log_likelihood(patterns), which))
        highest = np.full((size, 1), -np.inf, dtype=np.float32)
        total = np.zeros((size, self._membership.shape[1]), dtype=np.float32)
        for start in range(0, self._table.shape[1], TILE):
            tile = slice(start, start + TILE)
            p = chosen @ self._table[:, tile]
            for columns, logs, which in wide:
                p += logs.take(columns[tile], axis=1)[which]
            before, highest = highest, np.maximum(highest, p.max(axis=1, keepdims=True))
            p -= highest
            np.exp(p, out=p)
            total *= np.exp(before - highest)
            total += p @ self._membership[tile]
        return np.asarray(total[:, :-1] / total[:, -1:])


class _Group:
    """The signs of one group of manifestations.

    ``reports`` (knees, signs), -1 where a sign was not looked for; ``columns`` the position of each
    (guarding, state) in the likelihoods.
    """

    def __init__(
        self, model: Model, cohort: Cohort, name: tuple[str, ...], signs: list[str], alive: NDArray[np.intp]
    ) -> None:
        setting = cohort.setting
        self.reports = np.stack([np.maximum(cohort.reports[sign], -1) for sign in signs], axis=1)
        points = [model.outcome(sign, setting, cohort.grades[sign]).point for sign in signs]
        # One outcome more, reached by -1: what was not looked for is certain to look so.
        self._outcomes = [np.concatenate([each, np.ones_like(each[..., :1])], axis=-1) for each in points]
        table = model.table(setting, name)
        self._joint = table.joint.T
        configuration = table.configuration[alive]
        self.columns = np.concatenate([configuration, configuration + len(table.joint)])

    def patterns(self, rows: slice = slice(None)) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return the patterns that occur in some rows (patterns, signs), and which each has (rows,)."""
        reports = self.reports[rows]
        code = np.zeros(len(reports), dtype=np.int64)  # holds 24 signs of five levels; groups have 16
        for report, outcome in zip(reports.T, self._outcomes, strict=True):
            code = code * outcome.shape[-1] + report + 1
        _, first, which = np.unique(code, return_index=True, return_inverse=True)
        return reports[first], which

    def log_likelihood(self, reports: NDArray[np.intp]) -> Singles:
        """Return log P(each row of reports | guarding, configuration) up to a constant, (rows, both)."""
        likelihood = np.prod(
            [outcome[..., report] for outcome, report in zip(self._outcomes, reports.T, strict=True)], axis=0
        )
        logs = np.log(np.maximum(likelihood.transpose(2, 0, 1) @ self._joint, 1e-300))
        return _from_highest(logs.reshape(len(reports), -1))


def _from_highest(logs: NDArray[np.float64]) -> Singles:
    """Return rows of logs in single precision, the highest of each 0: small numbers keep more digits."""
    return np.asarray(logs - logs.max(axis=1, keepdims=True), dtype=np.float32)
