"""Variance components of balanced designs by analysis of variance.

For effect A with n_A cells out of N observations, T_A is the sum over its cells of (sum of scores)²/(cell
size). Sums of squares follow from the T by taking off what lies within A, and
E[MS_A] = sum over effects B that contain A of (N / n_B) s²_B, which is solved for the components.
Var(s²) = sum of c² 2 MS²/(df + 2), c being the weight of each mean square.

References: Cornfield and Tukey 1956 Ann Math Stat 27:907; Brennan 2001 Generalizability Theory, chapters 3
and 6 (from memory; its printed tables are the tests).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fabella.assess.components import Component, Components, negative_warnings
from fabella.assess.gstudy_design import Array, Codes, Design, cells, check_lengths, coded
from fabella.errors import Problems


@dataclass(frozen=True, slots=True, kw_only=True)
class AnovaRow:
    """One effect in a table of the analysis of variance: degrees of freedom [-], SS and MS [mark²]."""

    name: str
    df: int
    ss: float
    ms: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Anova:
    """A table of the analysis of variance and the components that follow from it."""

    rows: tuple[AnovaRow, ...]
    components: Components

    def row(self, name: str) -> AnovaRow:
        """Return the row of this effect."""
        return next(row for row in self.rows if row.name == self.components.of(name).name)


def anova(score: ArrayLike, codes: Mapping[str, ArrayLike], *, design: Design) -> Anova:
    """Return the analysis of variance of a balanced exam and its variance components.

    Parameters
    ----------
    score
        One score an observation [mark], shape (n,); none missing.
    codes
        For each facet of the design, whole numbers that tell its levels apart, shape (n,). Levels of a nested
        facet may be numbered within what they are nested in, or throughout.
    design
        Which facets cross and nest.

    Raises
    ------
    InputError
        When scores or codes are unusable, or the data are not balanced: an unequal number of observations in
        some cells. REML takes such data.
    """
    y = np.asarray(score, dtype=np.float64)
    kept: dict[str, Codes] = {name: coded(codes[name]) for name in design.facets}
    check_lengths(y, kept)
    centred = y - y.mean()  # keeps the digits of the sums of squares
    cell = {effect: cells(kept, effect) for effect in design.effects}
    size = {effect: np.bincount(cell[effect]) for effect in design.effects}
    _check_balance(design, size)
    df: dict[tuple[str, ...], int] = {}
    ss: dict[tuple[str, ...], float] = {}
    for effect in design.effects:
        total = np.bincount(cell[effect], weights=centred)
        within = [other for other in df if set(other) < set(effect)]
        df[effect] = len(total) - 1 - sum(df[other] for other in within)
        ss[effect] = float((total**2 / size[effect]).sum()) - sum(ss[other] for other in within)
    names = [design.name(effect) for effect in design.effects]
    effects = list(design.effects)
    left = len(y) - 1 - sum(df.values())
    if left > 0:  # several observations in the smallest cells
        effects.append(("residual",))
        names.append("residual")
        df["residual",] = left
        ss["residual",] = float((centred**2).sum()) - sum(ss.values())
    rows = tuple(
        AnovaRow(name=name, df=df[e], ss=ss[e], ms=ss[e] / df[e])
        for name, e in zip(names, effects, strict=True)
    )
    levels = [len(size[e]) if e in size else len(y) for e in effects]
    return Anova(rows=rows, components=_components(rows, effects, levels, float(y.mean()), len(y)))


def _components(
    rows: tuple[AnovaRow, ...], effects: list[tuple[str, ...]], levels: list[int], mean: float, n: int
) -> Components:
    inside = [[set(a) <= set(b) or b == ("residual",) for b in effects] for a in effects]
    expected = np.array(inside) * (n / np.array(levels))
    weight = np.linalg.inv(expected)
    ms = np.array([row.ms for row in rows])
    spread = 2 * ms**2 / (np.array([row.df for row in rows]) + 2)
    found: Array = weight @ ms
    error: Array = np.sqrt(weight**2 @ spread)
    whole = effects[-2] if effects[-1] == ("residual",) else effects[-1]
    parts = tuple(
        Component(
            name=row.name,
            effect=whole if effect == ("residual",) else effect,
            variance=float(v),
            se=float(se),
            levels=count,
        )
        for row, effect, v, se, count in zip(rows, effects, found, error, levels, strict=True)
    )
    return Components(method="ANOVA", parts=parts, mean=mean, n=n, warnings=negative_warnings(parts))


def _check_balance(design: Design, size: Mapping[tuple[str, ...], Codes]) -> None:
    """Refuse unequal cells, and cells that are missing although their facets cross."""
    problems = Problems()
    for effect, count in size.items():
        if count.min() < count.max():
            value = f"{count.min()} to {count.max()}"
            problems.add(design.name(effect), value, "observations in a cell: not balanced", "use REML")
    full = len(size[design.effects[-1]])
    if not problems and full != _crossed(design, {e: len(count) for e, count in size.items()}):
        problems.add("design", str(full), "cells: some combinations are missing", "use REML")
    problems.raise_any()


def _crossed(design: Design, levels: Mapping[tuple[str, ...], int]) -> int:
    """Return how many cells the highest interaction has when every crossing is complete."""
    total = 1
    for name in design.facets:
        whole = design.closure([name])
        outer = tuple(other for other in whole if other != name)
        total *= levels[whole] // (levels[outer] if outer else 1)
    return total
