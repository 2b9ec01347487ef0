"""Variance components of unbalanced designs by Henderson's method 1.

T_A = sum over cells a of effect A of (sum of scores)²/n_a has the expectation
N mu² + sum over effects B of k(A, B) s²_B + (cells of A) s²_residual, with
k(A, B) = sum over a of (sum over b of n_ab²)/n_a. As many T as unknowns give a linear system. All effects are
random; estimates are unbiased, may be negative, and come without standard errors.

Source: Henderson 1953 Biometrics 9:226-252; for generalizability Brennan 2001, chapter 7 (from memory; four
published unbalanced tables are the tests).
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from fabella.assess.components import Component, Components, negative_warnings
from fabella.assess.gstudy_design import Array, Codes, Design, cells, check_lengths, coded
from fabella.errors import InputError, Problem

_SINGULAR = 1e-10  # smallest singular value, relative, of effects that can still be told apart


def henderson(score: ArrayLike, codes: Mapping[str, ArrayLike], *, design: Design) -> Components:
    """Return variance components of a balanced or unbalanced exam.

    Parameters
    ----------
    score
        One score an observation [mark], shape (n,); missing ones are left out.
    codes
        For each facet of the design, whole numbers that tell its levels apart, shape (n,).
    design
        Which facets cross and nest.

    Raises
    ------
    InputError
        When scores or codes are unusable, or some effects cannot be told apart in these data.
    """
    y = np.asarray(score, dtype=np.float64)
    kept: dict[str, Codes] = {name: coded(codes[name]) for name in design.facets}
    check_lengths(y, kept)
    cell = {effect: cells(kept, effect) for effect in design.effects}
    last = design.effects[-1]
    if int(cell[last].max()) + 1 == len(y):  # one observation a cell: the highest interaction is the residual
        del cell[last]
    matrix, t = expected_counts(y - y.mean(), list(cell.values()))
    size = np.linalg.svd(matrix / np.abs(matrix).max(axis=0), compute_uv=False)
    if size[-1] < _SINGULAR * size[0]:
        listed = ", ".join(design.name(effect) for effect in cell)
        says, remedy = "cannot be told apart in these data", "leave out the effects that coincide"
        raise InputError([Problem(place="design", value=listed, says=says, remedy=remedy)])
    found = np.linalg.solve(matrix, t)[1:]
    effects = [*cell, last]
    names = [*(design.name(effect) for effect in cell), "residual" if last in cell else design.name(last)]
    levels = [*(int(code.max()) + 1 for code in cell.values()), len(y)]
    parts = tuple(
        Component(name=name, effect=effect, variance=float(v), se=None, levels=count)
        for name, effect, v, count in zip(names, effects, found, levels, strict=True)
    )
    warnings = negative_warnings(parts)
    return Components(method="Henderson 1", parts=parts, mean=float(y.mean()), n=len(y), warnings=warnings)


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
