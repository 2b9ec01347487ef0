"""The restricted likelihood of a mixed model as a function of the ratios of SDs, and its search.

The deviance, with residual variance and fixed effects profiled out, is
log|M| + (n - f) (1 + ln(2 pi r²/(n - f))), r² being the penalised residual sum of squares
(Bates, Maechler, Bolker and Walker 2015 J Stat Softw 67(1), equation 41). It is minimised over the ratios
theta_k = SD_k / residual SD, all at least 0, by a quasi-Newton search with the exact gradient.

It begins where Henderson's method 1 puts the variances (Henderson 1953 Biometrics 9:226-252). There
T_A = sum over cells a of effect A of (sum of scores)²/n_a has the expectation
N mu² + sum over effects B of k(A, B) s²_B + (cells of A) s²_residual, with
k(A, B) = sum over a of (sum over b of n_ab²)/n_a: as many T as unknowns, a linear system.
"""

import numpy as np
import scipy

from fabella.assess.gstudy_blocks import Equations, Factored, Solved
from fabella.assess.gstudy_design import Array, Codes

_LOWEST_START = 0.1  # a search must not begin at 0, where every slope is 0
_AT_ZERO = 1e-4  # a ratio of SDs below this is at its bound
_PROBE = 0.02  # where the slope beside the bound is looked at
_SCALE = 10.0
_SINGULAR = 1e-10


class Profile:
    """The deviance of one set of data as a function of theta.

    Parameters
    ----------
    y
        Scores [mark], shape (n,).
    columns
        Fixed effects, shape (n, f).
    random
        Cells of each random effect.
    block
        As in `Equations`.
    """

    def __init__(self, y: Array, columns: Array, random: list[Codes], *, block: int | None = None) -> None:
        self.centre = float(y.mean())  # keeps the digits of sums of squares
        self.y = y - self.centre
        self.random = random
        self.equations = Equations(columns, random, block=block)
        self.right = self.equations.right_side(self.y)
        self.total = float(self.y @ self.y)
        self.free = len(y) - columns.shape[1]

    def at(self, theta: Array) -> tuple[Factored, Solved, float]:
        """Return the factored equations, their scaled solution and the residual variance."""
        factored = self.equations.factor(theta)
        solved = factored.solve(*self.right)
        inner, rest = self.right[0] * factored.scale_inner, self.right[1] * factored.scale_rest
        penalised = self.total - float((solved[0] * inner).sum() + solved[1] @ rest)
        return factored, solved, max(penalised, 1e-12 * self.total) / self.free

    def deviance(self, theta: Array) -> tuple[float, Array]:
        """Return the deviance and its gradient in theta."""
        factored, solved, variance = self.at(theta)
        value = factored.log_det + self.free * (1 + np.log(2 * np.pi * variance))
        spread = self.equations.split(factored.diagonal())
        effect = self.equations.split(solved)
        pull = [len(d) - d.sum() - (u @ u) / variance for d, u in zip(spread, effect, strict=True)]
        return float(value), 2 * np.array(pull) / np.maximum(theta, 1e-12)

    def run(self) -> tuple[Array, bool]:
        """Return the best theta, from the start that Henderson's method 1 gives.

        At 0 every slope is 0, so a search that has run into a bound is probed beside it and begun again; one
        that runs into bounds again and again goes on in squares of theta, whose slopes at 0 are not 0.
        """
        theta = self._start()
        for _ in range(5):
            theta = self._descend(theta)
            at_zero = theta < _AT_ZERO
            slope = self.deviance(np.where(at_zero, _PROBE, theta))[1]
            leave = at_zero & (slope < 0)
            if not leave.any():
                break
            theta = np.where(leave, 2 * _LOWEST_START, theta)
        else:
            theta = self._descend_squared(theta)
        theta[theta < _AT_ZERO] = 0.0
        slope = self.deviance(theta)[1] * theta
        return theta, bool(np.abs(slope).max(initial=0.0) < 1e-3 * np.sqrt(self.free))

    def _start(self) -> Array:
        columns = self.equations.fixed
        left = self.y - columns @ np.linalg.lstsq(columns, self.y)[0]
        matrix, t = expected_counts(left, self.random)
        variances = np.linalg.lstsq(matrix, t, rcond=_SINGULAR)[0][1:]
        residual = variances[-1] if variances[-1] > 0 else left.var() / 2
        ratio = np.clip(variances[:-1] / residual, _LOWEST_START**2, 1e4)
        return np.asarray(np.sqrt(ratio), dtype=np.float64)

    def _descend(self, start: Array) -> Array:
        """Return the theta where a search from this start ends; its first step is at most 1 / _SCALE long."""

        def scaled(x: Array) -> tuple[float, Array]:
            value, slope = self.deviance(x / _SCALE)
            return value, slope / _SCALE

        found = scipy.optimize.minimize(
            scaled,
            start * _SCALE,
            jac=True,
            method="L-BFGS-B",
            bounds=scipy.optimize.Bounds(np.zeros(len(start)), np.full(len(start), np.inf)),
            options={"ftol": 1e-15, "gtol": 1e-8 * self.free, "maxiter": 300},
        )
        return np.asarray(found.x, dtype=np.float64) / _SCALE

    def _descend_squared(self, start: Array) -> Array:
        """Return the theta where a search in theta² ends."""

        def squared(x: Array) -> tuple[float, Array]:
            theta = np.sqrt(np.maximum(x, _AT_ZERO**2))
            value, slope = self.deviance(theta)
            return value, slope / (2 * theta)

        found = scipy.optimize.minimize(
            squared,
            start**2,
            jac=True,
            method="L-BFGS-B",
            bounds=scipy.optimize.Bounds(np.zeros(len(start)), np.full(len(start), np.inf)),
            options={"ftol": 1e-15, "gtol": 1e-8 * self.free, "maxiter": 600, "maxfun": 30_000},
        )
        return np.sqrt(np.asarray(found.x, dtype=np.float64))


def expected_counts(y: Array, cell: list[Codes]) -> tuple[Array, Array]:
    """Return Henderson's linear system: rows mean, effects, residual; columns mu², effects, residual.

    Parameters
    ----------
    y
        Scores [mark], shape (n,).
    cell
        The cell of each observation for every effect but the residual, each of shape (n,).
    """
    n = len(y)
    whole = np.zeros(n, dtype=np.intp)
    groups = [whole, *cell]
    sizes = [np.bincount(group) for group in groups]
    rows = len(groups) + 1
    matrix = np.empty((rows, rows))
    t = np.empty(rows)
    for i, (group, size) in enumerate(zip(groups, sizes, strict=True)):
        t[i] = (np.bincount(group, weights=y) ** 2 / size).sum()
        for j, other in enumerate(groups):
            both, count = np.unique(group * len(sizes[j]) + other, return_counts=True)
            matrix[i, j] = (count.astype(np.float64) ** 2 / size[both // len(sizes[j])]).sum()
        matrix[i, -1] = len(size)
    matrix[-1], t[-1] = n, (y**2).sum()
    return matrix, t
