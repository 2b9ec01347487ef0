"""Marginal maximum likelihood of a many-facet Rasch model: abilities are drawn from a normal distribution.

ability = mean + spread z with z standard normal; z is integrated on equally spaced nodes, at least 41 and so
close that the narrowest posterior is as wide as their distance (the trapezoidal rule then errs by 1 in 10⁸).
A Newton search uses the exact gradient and the exact observed information (Louis 1982 J R Stat Soc B 44:226,
from memory): what complete data would tell less what is missing because z is not seen.

Marks enter through the cells of the design (station, item, examiner), of which there are few: probabilities
are computed for cells and nodes, and a sparse product carries them to candidates.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy

from fabella.assess.facets_joint import information, meet
from fabella.assess.facets_ratings import Moments, Ratings, cumulated, log_probabilities, moments
from fabella.assess.gstudy_design import Array, Codes, coded
from fabella.errors import InputError, Problem

_REACH = 6.0  # SDs on either side
_FEWEST_NODES = 41
_CLOSER = 0.9  # of the narrowest posterior SD
_WINDOW = 7.0  # posterior SDs on either side that a candidate is followed
_CHUNK = 64  # candidates
_SLACK = 0.2  # and this much more, in z, for what moves between steps
_CLOSE = 1e-3  # Newton: the next step would be of the order of its square
_MOST_STEPS = 60
_ROUGH_STEPS = 6  # on few nodes, to get near


Sparse = Any  # a sparse matrix; the types of scipy do not follow its products


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MarginalFit:
    """What marginal likelihood gives.

    Parameters
    ----------
    mean, spread, mean_se, spread_se
        Of the abilities of the population [logit] and their errors.
    effects, effects_se
        Of all facets, one after another [logit].
    thresholds, thresholds_se
        Of each scale [logit], shape (scales, thresholds).
    expected, expected_sd, expected_se
        Posterior mean and SD of the ability of each candidate [logit]; the last also holds the errors of
        facets, thresholds, mean and spread (Kass and Steffey 1989 J Am Stat Assoc 84:717, from memory).
    deviance
        -2 log marginal likelihood [-].
    nodes
        Nodes used [-].
    """

    mean: float
    spread: float
    mean_se: float
    spread_se: float
    effects: Array
    effects_se: Array
    thresholds: Array
    thresholds_se: Array
    expected: Array
    expected_sd: Array
    expected_se: Array
    deviance: float
    nodes: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Chunk:
    """Some candidates near in ability: what they were given, and where they met what."""

    rows: Codes
    given: Sparse
    met: Sparse
    seen: tuple[Sparse, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _State:
    """Value, slope and information at one place, and where each candidate lies, in z, and how widely."""

    log_likelihood: float
    slope: Array
    complete: Array
    missing: Array
    centre: Array
    width: Array  # from the information
    exact: Array
    tilt: Array  # covariance of z with the slope in every parameter, a row a candidate


def marginal_fit(data: Ratings, columns: Array) -> MarginalFit:
    """Return the marginal maximum-likelihood fit.

    Parameters
    ----------
    data
        The observations.
    columns
        Contrasts that effects and thresholds may take, from `contrasts`.

    Raises
    ------
    InputError
        When the search does not end: too few marks, or abilities that do not differ.
    """
    search = _Marginal(data, columns)
    place = np.zeros(columns.shape[1] + 2)
    place[-1] = 1.0
    place, state = search.climb(place, np.linspace(-_REACH, _REACH, _FEWEST_NODES), last=None)
    nodes = _fine_nodes(state)
    search.sort(state.centre)
    place, state = search.climb(place, nodes, last=state)
    covariance = np.linalg.inv(state.complete - state.missing)
    inner = covariance[:-2, :-2]
    dense, errors = columns @ place[:-2], np.sqrt(np.einsum("ij,jk,ik->i", columns, inner, columns))
    start, width = data.offsets[-1], data.marks.shape[1] - 1
    mean, spread = float(place[-2]), float(place[-1])
    # How the posterior mean moves with the parameters: directly, and by the covariance of z with the score.
    moves = spread * (state.tilt @ scipy.linalg.block_diag(columns, np.eye(2)))
    moves[:, -2] += 1
    moves[:, -1] += state.centre
    known = (spread * state.exact) ** 2
    total = known + np.einsum("ni,ij,nj->n", moves, covariance, moves)
    return MarginalFit(
        mean=mean,
        spread=spread,
        mean_se=float(np.sqrt(covariance[-2, -2])),
        spread_se=float(np.sqrt(covariance[-1, -1])),
        effects=dense[:start],
        effects_se=errors[:start],
        thresholds=dense[start:].reshape(-1, width),
        thresholds_se=errors[start:].reshape(-1, width),
        expected=mean + spread * state.centre,
        expected_sd=np.sqrt(known),
        expected_se=np.sqrt(total),
        deviance=-2 * state.log_likelihood,
        nodes=len(nodes),
    )


class _Marginal:
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

    def climb(self, place: Array, nodes: Array, *, last: _State | None) -> tuple[Array, _State]:
        """Return the best place and the state there; only near it when it begins from nothing."""
        state = self.at(place, nodes, last)
        for _ in range(_MOST_STEPS if last else _ROUGH_STEPS):
            step = _step(state)
            pace = min(1.0, 1.0 / max(np.abs(step).max(), 1e-12), 0.5 * place[-1] / max(abs(step[-1]), 1e-12))
            best = place
            for _ in range(30):
                best = place + pace * step
                new = self.at(best, nodes, state)
                if new.log_likelihood >= state.log_likelihood - 1e-7 * abs(state.log_likelihood):
                    break
                pace /= 2
            place, state = best, new
            if pace == 1.0 and np.abs(step).max() < _CLOSE:
                return place, state
        if last is None:
            return place, state
        says, remedy = "did not converge", "abilities may not differ; look at the data"
        raise InputError([Problem(place="marginal likelihood", value="", says=says, remedy=remedy)])

    def at(self, place: Array, nodes: Array, last: _State | None) -> _State:
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
            flat = (score * posterior).reshape(size, -1)
            mean = flat.reshape(score.shape).sum(axis=2)
            tilt[rows] = (flat.reshape(score.shape) @ z - mean * centre[rows]).T
            slope += mean.sum(axis=1)
            missing += flat @ score.reshape(size, -1).T - mean @ mean.T
        complete = self._complete(found, weight, nodes)
        whole = scipy.linalg.block_diag(self.columns, np.eye(2))
        return _State(
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


def _fine_nodes(state: _State) -> Array:
    """Return nodes as close as the narrowest posterior is wide, as far as any posterior reaches."""
    reach = _WINDOW * state.width + 3 * _SLACK
    low = max(float((state.centre - reach).min()), -_REACH)
    high = min(float((state.centre + reach).max()), _REACH)
    spacing = min(2 * _REACH / (_FEWEST_NODES - 1), _CLOSER * float(state.width.min()))
    return np.linspace(low, high, max(int(np.ceil((high - low) / spacing)) + 1, _FEWEST_NODES))


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


def _window(nodes: Array, rows: Codes, last: _State | None) -> slice:
    """Return the nodes where these candidates can lie."""
    if last is None:
        return slice(0, len(nodes))
    reach = _WINDOW * np.maximum(last.width[rows], last.exact[rows]) + _SLACK
    begin = max(int(np.searchsorted(nodes, (last.centre[rows] - reach).min())) - 2, 0)
    end = min(int(np.searchsorted(nodes, (last.centre[rows] + reach).max())) + 2, len(nodes))
    return slice(begin, end)


def _step(state: _State) -> Array:
    """Return Newton's step, or where the likelihood is not yet hollow a step as if nothing were missing."""
    observed = state.complete - state.missing
    if np.linalg.eigvalsh(observed)[0] > 0:
        return np.asarray(np.linalg.solve(observed, state.slope), dtype=np.float64)
    return np.asarray(np.linalg.solve(state.complete, state.slope), dtype=np.float64)
