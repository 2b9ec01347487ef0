"""Point posteriors of very many examinations at once, as two matrix products a block.

Within one group of manifestations a knee's findings are one *pattern*; every pattern that occurs gives one
row of log likelihoods over (guarding, state). An examination's log posterior is the sum of the rows of its
patterns: a product of a 0/1 matrix with the rows. A second product sums the posterior into the probabilities
of lesions.
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
from fabella.infer.threads import one_thread

Singles = NDArray[np.float32]

NOT_LOOKED_FOR = -2
BLOCK = 256


@dataclass(frozen=True, slots=True, eq=False)
class Cohort:
    """Knees that share their circumstances.

    ``reports``: reported level of each sign (knees,), 0 = normal, `NOT_LOOKED_FOR` where it was not done (or
    could not be); ``grades``: number of levels above normal of each sign.
    """

    setting: Setting
    reports: Mapping[str, NDArray[np.intp]]
    grades: Mapping[str, int]

    def __len__(self) -> int:
        return len(next(iter(self.reports.values())))


class CohortPosterior:
    """The compiled rows of one cohort; computing is exact up to single precision."""

    def __init__(self, model: Model, cohort: Cohort) -> None:
        self._rows: list[Singles] = []
        self._patterns: list[NDArray[np.intp]] = []
        prior = log_prior(model, KneeEvidence(setting=cohort.setting, observations=()))
        self._alive = np.flatnonzero(np.isfinite(prior[0]))
        self._prior = prior[:, self._alive].astype(np.float32).ravel()
        membership = model.membership[self._alive].astype(np.float32)
        self._membership = np.vstack([membership, membership])
        self.quantities = model.quantities
        first = 0
        groups: dict[tuple[str, ...], list[str]] = {}
        for sign in cohort.reports:
            groups.setdefault(model.group_of(sign), []).append(sign)
        for group, signs in groups.items():
            seen = np.stack([cohort.reports[sign] for sign in signs], axis=1)
            patterns, which = np.unique(seen, axis=0, return_inverse=True)
            table = model.table(cohort.setting.acuity, group)
            configuration = table.configuration[self._alive]
            for pattern in patterns:
                likelihood = np.ones((2, table.joint.shape[1]))
                for sign, level in zip(signs, pattern, strict=True):
                    if level != NOT_LOOKED_FOR:
                        outcome = model.outcome(sign, cohort.setting.setting, cohort.grades[sign])
                        likelihood = likelihood * outcome.point[..., level]
                by_configuration = np.log(np.maximum(likelihood @ table.joint.T, 1e-37))
                self._rows.append(by_configuration[:, configuration].astype(np.float32).ravel())
            self._patterns.append(which.ravel() + first)
            first += len(patterns)
        self._table = np.stack(self._rows)
        self._count = len(cohort)

    @property
    def operations(self) -> float:
        """Return the floating-point operations of the two products over the whole cohort."""
        states: int = self._table.shape[1]
        return 2.0 * self._count * states * (len(self._table) + len(self.quantities))

    def blocks(self, workers: int = 2) -> Iterator[tuple[slice, Singles]]:
        """Yield (rows, probabilities (rows, quantities)) block by block, in order.

        ``workers`` blocks are computed side by side, each on one thread; memory does not grow with the
        cohort.
        """
        todo = [slice(start, min(start + BLOCK, self._count)) for start in range(0, self._count, BLOCK)]
        with one_thread(), ThreadPoolExecutor(workers) as pool:
            for start in range(0, len(todo), workers):
                group = todo[start : start + workers]
                yield from zip(group, pool.map(self._block, group), strict=True)

    def _block(self, rows: slice) -> Singles:
        size = rows.stop - rows.start
        chosen = np.zeros((size, self._table.shape[0]), dtype=np.float32)
        for which in self._patterns:
            chosen[np.arange(size), which[rows]] = 1.0
        log_p = chosen @ self._table
        log_p += self._prior
        log_p -= log_p.max(axis=1, keepdims=True)
        np.exp(log_p, out=log_p)
        share = log_p @ self._membership
        return np.asarray(share / log_p.sum(axis=1, keepdims=True))
