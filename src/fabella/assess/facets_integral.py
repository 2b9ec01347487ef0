"""The marginal likelihood of a many-facet Rasch model at one place, with its slope and information.

Marks enter through the cells of the design (station, item, examiner), of which there are few: probabilities
are computed for cells and nodes, and a sparse product carries them to candidates. Candidates near in ability
are taken together, so that each is followed only over nodes where it can lie.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy

from fabella.assess.facets_information import information, meet
from fabella.assess.facets_ratings import Moments, Ratings, cumulated, log_probabilities, moments
from fabella.assess.gstudy_design import Array, Codes, coded

WINDOW = 7.0  # posterior SDs on either side that a candidate is followed
SLACK = 0.2  # and this much more, in z, for what moves between steps
_CHUNK = 64  # candidates

Sparse = Any  # a sparse matrix; the types of scipy do not follow its products


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Chunk:
    """Some candidates near in ability: what they were given, and where they met what."""

    rows: Codes
    given: Sparse
    met: Sparse
    seen: tuple[Sparse, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class State:
    """Value, slope and information at one place, and where each candidate lies, in z, and how widely."""

    log_likelihood: float
    slope: Array
    complete: Array
    missing: Array
    centre: Array
    width: Array  # from the information
    exact: Array
    tilt: Array  # covariance of z with the slope in every parameter, a row a candidate


class Marginal:
    """The marginal likelihood of one set of data as a function of contrasts, mean and spread."""

    def __init__(self, data: Ratings, columns: Array) -> None:
        self.columns = columns
        self.n = data.n_candidates
        self.width = data.marks.shape[1]  # categories
        cell, first = _cells(data)
        self.cells = data.of(first)  # one observation stands for each cell
        self.tops = data.tops
        self.start = data.offsets[-1]
        ones = np.ones(len(cell))
        shape = (self.n, len(first) * self.width)
        self.given: Sparse
        self.met: Sparse
        self.given = scipy.sparse.csr_array(
            (ones, (data.candidate, data.category * len(first) + cell)), shape=shape
        )
        self.met = scipy.sparse.csr_array((ones, (data.candidate, cell)), shape=(self.n, len(first)))
        self.parts = []  # for each facet: who met which level in which cell, and what they got there
        keys = [*zip(data.codes, data.levels, strict=True), (data.scale, len(data.marks))]
        for code, n in keys:
            row = data.candidate * n + code
            seen = scipy.sparse.csr_array((ones, (row, cell)), shape=(self.n * n, len(first)))
            self.parts.append((n, seen))
        got = [
            np.bincount(data.candidate * n + code, weights=data.category, minlength=self.n * n)
            for code, n in keys
        ]
        self.got = [each.reshape(self.n, n) for each, (_, n) in zip(got[:-1], keys, strict=False)]
        scales = keys[-1][1]
        passed = [
            np.bincount(
                data.candidate * scales + data.scale, weights=data.category >= h, minlength=self.n * scales
            )
            for h in range(1, self.width)
        ]
        self.passed = np.stack(passed, axis=1).reshape(self.n, -1)  # scale and threshold
        self.sort(np.bincount(data.candidate, weights=data.category).astype(np.float64))

    def sort(self, by: Array) -> None:
        """Put candidates that lie near each other into one chunk."""
        order = np.argsort(by)
        self.chunks = [self._chunk(order[begin : begin + _CHUNK]) for begin in range(0, self.n, _CHUNK)]

    def _chunk(self, rows: Codes) -> _Chunk:
        seen = tuple(each[(rows[:, None] * n + np.arange(n)).ravel()] for n, each in self.parts)
        return _Chunk(rows=rows, given=self.given[rows], met=self.met[rows], seen=seen)

    def at(self, place: Array, nodes: Array, last: State | None) -> State:
        """Return the state at a place; the last one tells where to look for each candidate."""
        dense = self.columns @ place[:-2]
        ability = place[-2] + place[-1] * nodes
        effect = sum(
            (dense[s + code] for s, code in zip(self.cells.offsets, self.cells.codes, strict=False)),
            np.zeros(len(self.cells.category)),
        )
        sums = cumulated(dense[self.start :].reshape(-1, self.width - 1), self.tops)
        log = log_probabilities(ability - effect[:, None], sums.T[:, self.cells.scale, None])
        found = moments(np.exp(log))
        table = log.reshape(-1, len(nodes))
        prior = -(nodes**2) / 2 - np.log(2 * np.pi) / 2 + np.log(nodes[1] - nodes[0])
        size = len(dense) + 2
        value, slope, missing = 0.0, np.zeros(size), np.zeros((size, size))
        centre, width, exact = np.empty(self.n), np.empty(self.n), np.empty(self.n)
        weight, tilt = np.zeros((len(effect), len(nodes))), np.empty((self.n, size))
        for chunk in self.chunks:
            rows = chunk.rows
            window = _window(nodes, rows, last)
            z = nodes[window]
            raw = chunk.given @ table[:, window] + prior[window]
            top = raw.max(axis=1, keepdims=True)
            posterior = np.exp(raw - top)
            total = posterior.sum(axis=1, keepdims=True)
            posterior /= total
            value += float((top + np.log(total)).sum())
            centre[rows] = posterior @ z
            spread = chunk.met @ found.variance[:, window]
            near = np.minimum(np.searchsorted(z, centre[rows]), len(z) - 1)
            width[rows] = 1 / np.sqrt(1 + place[-1] ** 2 * spread[np.arange(len(rows)), near])
            exact[rows] = np.sqrt(np.maximum(posterior @ z**2 - centre[rows] ** 2, 0))
            weight[:, window] += chunk.met.T @ posterior
            score = self._scores(chunk, found, z, window)
            along = np.stack([posterior, posterior * z], axis=2)
            mean, with_z = np.matmul(score.transpose(1, 0, 2), along).transpose(2, 1, 0)
            tilt[rows] = (with_z - mean * centre[rows]).T
            slope += mean.sum(axis=1)
            score *= np.sqrt(posterior)
            half = score.reshape(size, -1)
            missing += half @ half.T - mean @ mean.T
        complete = self._complete(found, weight, nodes)
        whole = scipy.linalg.block_diag(self.columns, np.eye(2))
        return State(
            log_likelihood=value,
            slope=whole.T @ slope,
            complete=whole.T @ complete @ whole,
            missing=whole.T @ missing @ whole,
            centre=centre,
            width=width,
            exact=exact,
            tilt=tilt,
        )

    def _scores(self, chunk: _Chunk, found: Moments, z: Array, window: slice) -> Array:
        """Return the slope of each candidate's complete log likelihood, shape (parameters, rows, nodes)."""
        rows, nodes = len(chunk.rows), len(z)
        parts = []
        for seen, got in zip(chunk.seen[:-1], self.got, strict=True):
            expected = (seen @ found.mean[:, window]).reshape(rows, -1, nodes)
            parts.append((expected - got[chunk.rows][:, :, None]).transpose(1, 0, 2))
        of_mean = -parts[0].sum(axis=0, keepdims=True)
        steps = [
            (chunk.seen[-1] @ found.reach[h][:, window]).reshape(rows, -1, nodes)
            for h in range(self.width - 1)
        ]
        reach = np.stack(steps, axis=2).reshape(rows, -1, nodes)
        parts.append((reach - self.passed[chunk.rows][:, :, None]).transpose(1, 0, 2))
        return np.concatenate([*parts, of_mean, of_mean * z])

    def _complete(self, found: Moments, weight: Array, nodes: Array) -> Array:
        """Return the information if z were seen."""
        variance = (weight * found.variance).sum(axis=1)
        pull = (weight * found.pull).sum(axis=2)
        among = information(self.cells, variance, pull, _both(found, weight))
        moment = [(weight * found.variance * nodes**k).sum() for k in (0, 1, 2)]
        everywhere = np.zeros(len(weight), dtype=np.intp)
        with_mean = meet(self.cells, variance, pull, everywhere, 1)
        variance_z = (weight * found.variance * nodes).sum(axis=1)
        pull_z = (weight * nodes * found.pull).sum(axis=2)
        with_spread = meet(self.cells, variance_z, pull_z, everywhere, 1)
        corner = np.array([[moment[0], moment[1]], [moment[1], moment[2]]])
        side = np.concatenate([with_mean, with_spread])
        return np.block([[among, side.T], [side, corner]])


def _both(found: Moments, weight: Array) -> Array:
    """Return summed covariances of thresholds passed, shape (thresholds, thresholds, cells)."""
    weighed = weight * found.reach
    steps = np.arange(len(weighed))
    passed = weighed.sum(axis=2)
    both = np.stack([(each * found.reach).sum(axis=2) for each in weighed])
    covered: Array = passed[np.maximum.outer(steps, steps)] - both
    return covered


def _cells(data: Ratings) -> tuple[Codes, Codes]:
    """Return the cell of each observation, and an observation of each cell."""
    key = data.scale
    for code, n in zip(data.codes, data.levels, strict=True):
        key = coded(key * n + code)
    return key, np.unique(key, return_index=True)[1]


def _window(nodes: Array, rows: Codes, last: State | None) -> slice:
    """Return the nodes where these candidates can lie."""
    if last is None:
        return slice(0, len(nodes))
    reach = WINDOW * np.maximum(last.width[rows], last.exact[rows]) + SLACK
    begin = max(int(np.searchsorted(nodes, (last.centre[rows] - reach).min())) - 2, 0)
    end = min(int(np.searchsorted(nodes, (last.centre[rows] + reach).max())) + 2, len(nodes))
    return slice(begin, end)
