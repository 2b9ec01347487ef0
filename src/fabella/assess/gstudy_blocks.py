"""The equations of a mixed model, solved candidate by candidate.

In an exam the effects of one candidate (the candidate, the candidate at a station …) never meet those of
another except through stations and examiners. So the large part of the mixed-model equations is a block for
each candidate, of a dozen rows at most, and what is left is small and dense. Eliminating the blocks makes a
likelihood of 12,000 scores cost milliseconds. The facet that makes the blocks is found from the data; nothing
here knows what a candidate is.

With M = L Z'Z L + I for random effects scaled by L = diag(theta), and fixed effects unscaled and unpenalised,
log|V| (+ log|X'V⁻¹X|) = log|M|; see Bates, Maechler, Bolker and Walker 2015 J Stat Softw 67(1), sections 3.3
and 3.4.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from fabella.assess.gstudy_design import Array, Codes

Solved = tuple[Array, Array]  # of the blocks, shape (blocks, width); of the rest, shape (rest,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Factored:
    """The equations for one set of scale factors, factored.

    Parameters
    ----------
    log_det
        Natural logarithm of the determinant of M [-].
    inverse_inner
        Inverse of each block, shape (blocks, width, width).
    bridge
        Inverse of each block times what joins it to the rest, shape (blocks, width, rest).
    inverse_rest
        Inverse of what is left after elimination, shape (rest, rest).
    scale_inner, scale_rest
        Scale factors, shapes (width,) and (rest,); 1 for fixed effects.
    """

    log_det: float
    inverse_inner: Array
    bridge: Array
    inverse_rest: Array
    scale_inner: Array
    scale_rest: Array

    def solve(self, inner: Array, rest: Array) -> Solved:
        """Return the scaled solution for a right-hand side that has not been scaled."""
        inner, rest = inner * self.scale_inner, rest * self.scale_rest
        outer = self.inverse_rest @ (rest - np.einsum("bwr,bw->r", self.bridge, inner))
        own = np.einsum("bvw,bw->bv", self.inverse_inner, inner) - self.bridge @ outer
        return own, outer

    def diagonal(self) -> Solved:
        """Return the diagonal of the inverse of M."""
        through = self.bridge @ self.inverse_rest
        inner: Array = np.einsum("bww->bw", self.inverse_inner) + np.einsum(
            "bwr,bwr->bw", through, self.bridge
        )
        rest: Array = self.inverse_rest.diagonal()
        return inner, rest


class Equations:
    """Cross-products of effects and scores, arranged for elimination.

    Parameters
    ----------
    fixed
        Columns of fixed effects, shape (n, f).
    terms
        The cell of each observation for every random effect, each of shape (n,).
    block
        Position of the effect that makes the blocks; None: the one that takes most out.
    """

    def __init__(self, fixed: Array, terms: Sequence[Codes], *, block: int | None = None) -> None:
        self.fixed = fixed
        self.terms = terms
        self.levels = [int(term.max()) + 1 for term in terms]
        nested = [[within(inner, outer) for inner in terms] for outer in terms]
        worth = [sum(n for n, yes in zip(self.levels, row, strict=True) if yes) for row in nested]
        self.block_of = int(np.argmax(worth)) if block is None else block
        self.is_inner = nested[self.block_of]
        self.block = terms[self.block_of]
        self._place()
        self._multiply()

    def _place(self) -> None:
        """Give every level of every effect its place in a block, or among the rest."""
        self.place: list[Codes] = []  # of each observation's level
        self.inner_at: list[tuple[Codes, Codes]] = []  # block and place of each level
        width, rest = 0, 0
        for term, levels, inner in zip(self.terms, self.levels, self.is_inner, strict=True):
            if inner:
                owner = np.zeros(levels, dtype=np.intp)
                owner[term] = self.block
                order = np.argsort(owner, kind="stable")
                start = np.searchsorted(owner[order], owner[order])
                spot = np.empty(levels, dtype=np.intp)
                spot[order] = np.arange(levels) - start + width
                width = int(spot.max()) + 1
                self.inner_at.append((owner, spot))
                self.place.append(spot[term])
            else:
                spot = np.arange(rest, rest + levels)
                rest += levels
                self.inner_at.append((spot, spot))
                self.place.append(spot[term])
        self.width, self.random_rest = width, rest
        self.rest = rest + self.fixed.shape[1]
        self.blocks = self.levels[self.block_of]

    def _multiply(self) -> None:
        w, r, b = self.width, self.rest, self.blocks
        inner, outer = self._parts()
        own, joined, rest = np.zeros(b * w * w), np.zeros(b * w * r), np.zeros(r * r)
        for one in inner:
            row = self.block * w + one
            for other in inner:
                own += np.bincount(row * w + other, minlength=b * w * w)
            for other, weight in outer:
                joined += np.bincount(row * r + other, weights=weight, minlength=b * w * r)
        for one, weight in outer:
            for other, second in outer:
                rest += np.bincount(one * r + other, weights=weight * second, minlength=r * r)
        self.own, self.joined, self.remaining = (
            own.reshape(b, w, w),
            joined.reshape(b, w, r),
            rest.reshape(r, r),
        )

    def _parts(self) -> tuple[list[Codes], list[tuple[Codes, Array]]]:
        n = len(self.block)
        inner = [place for place, yes in zip(self.place, self.is_inner, strict=True) if yes]
        ones = np.ones(n)
        outer = [(place, ones) for place, yes in zip(self.place, self.is_inner, strict=True) if not yes]
        for column in range(self.fixed.shape[1]):
            outer.append((np.full(n, self.random_rest + column), self.fixed[:, column]))
        return inner, outer

    def right_side(self, y: Array) -> Solved:
        """Return the cross-products of effects with scores, or with anything of their shape."""
        inner, outer = self._parts()
        own, rest = np.zeros(self.blocks * self.width), np.zeros(self.rest)
        for place in inner:
            own += np.bincount(self.block * self.width + place, weights=y, minlength=len(own))
        for place, weight in outer:
            rest += np.bincount(place, weights=y * weight, minlength=self.rest)
        return own.reshape(self.blocks, self.width), rest

    def factor(self, theta: Array) -> Factored:
        """Return the equations factored for these scale factors (SD of each effect over the residual SD)."""
        inner, rest = self.scales(theta)
        own = self.own * inner[:, None] * inner + np.eye(self.width)
        joined = self.joined * inner[:, None] * rest
        remaining = self.remaining * rest[:, None] * rest
        remaining[np.arange(self.random_rest), np.arange(self.random_rest)] += 1
        inverse = np.asarray(np.linalg.inv(own), dtype=np.float64)
        bridge = inverse @ joined
        flat = (self.blocks * self.width, self.rest)
        remaining -= joined.reshape(flat).T @ bridge.reshape(flat)
        root = scipy.linalg.cho_factor(remaining, lower=True)
        log_det = float(np.linalg.slogdet(own)[1].sum() + 2 * np.log(np.diagonal(root[0])).sum())
        return Factored(
            log_det=log_det,
            inverse_inner=inverse,
            bridge=bridge,
            inverse_rest=scipy.linalg.cho_solve(root, np.eye(self.rest)),
            scale_inner=inner,
            scale_rest=rest,
        )

    def scales(self, theta: Array) -> tuple[Array, Array]:
        """Return the scale factor of each place in a block and among the rest."""
        inner, rest = np.ones(self.width), np.ones(self.rest)
        for k, (_, spot) in enumerate(self.inner_at):
            (inner if self.is_inner[k] else rest)[spot] = theta[k]
        return inner, rest

    def split(self, solved: Solved) -> list[Array]:
        """Return the part of a solution that belongs to each random effect, one entry a level."""
        return [
            solved[0][owner, spot] if yes else solved[1][spot]
            for (owner, spot), yes in zip(self.inner_at, self.is_inner, strict=True)
        ]


def within(inner: Codes, outer: Codes) -> bool:
    """Return whether each level of one effect occurs with a single level of the other."""
    owner = np.zeros(int(inner.max()) + 1, dtype=np.intp)
    owner[inner] = outer
    return bool((owner[inner] == outer).all())
