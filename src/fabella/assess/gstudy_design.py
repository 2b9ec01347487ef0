"""The design of an exam: which facets cross, which nest, and the effects that follow.

An effect is a set of facets closed under nesting: with examiners nested in stations, the effect of
examiners is {examiner, station}, written ``examiner:station``. Effects of a design are all its closed sets
(Brennan 2001 Generalizability Theory, section 3.2.1, from memory). Written out: ``p x (r:s)`` has the effects
p, s, r:s, p*s and p*r:s.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fabella.errors import Problems

Codes = NDArray[np.intp]
Array = NDArray[np.float64]
Effect = tuple[str, ...]  # facets in the order of the design


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Facets of an exam and what each is nested in.

    Parameters
    ----------
    facets
        Names, the candidates first by custom.
    nests
        For each facet, all facets it is nested in; empty when in none.
    """

    facets: tuple[str, ...]
    nests: tuple[tuple[str, ...], ...]

    def closure(self, facets: Sequence[str]) -> Effect:
        """Return these facets with all that they are nested in, in the order of the design."""
        wanted = {outer for name in facets for outer in (name, *self.nests[self.facets.index(name)])}
        return tuple(name for name in self.facets if name in wanted)

    @property
    def effects(self) -> tuple[Effect, ...]:
        """Every effect that the design distinguishes, from main effects to the highest interaction."""
        sets = (some for n in range(1, len(self.facets) + 1) for some in combinations(self.facets, n))
        return tuple(some for some in sets if self.closure(some) == some)

    def name(self, effect: Effect) -> str:
        """Return an effect as text: crossed facets joined by ``*``, ``:`` before what they are nested in."""
        nesting = {outer for name in effect for outer in self.nests[self.facets.index(name)]}
        primary = [name for name in effect if name not in nesting]
        inner = "*".join(primary)
        outer = "*".join(name for name in effect if name in nesting)
        return f"{inner}:{outer}" if outer else inner


def coded(values: ArrayLike) -> Codes:
    """Return whole numbers from 0 that tell the values apart, in their sorted order."""
    return np.unique(np.asarray(values), return_inverse=True)[1].ravel().astype(np.intp)


def cells(codes: Mapping[str, Codes], effect: Effect) -> Codes:
    """Return the cell of each observation for an effect: one whole number from 0 for each combination met."""
    cell = coded(codes[effect[0]])
    for name in effect[1:]:
        cell = coded(cell * (int(codes[name].max()) + 1) + codes[name])
    return cell


def check_lengths(score: Array, codes: Mapping[str, Codes]) -> None:
    """Raise one `InputError` when scores are missing or not finite, or codes are too few or below 0."""
    problems = Problems()
    if score.ndim != 1 or len(score) < 2:
        problems.add("scores", "", "are too few", "two or more are needed, in one row")
    if not np.isfinite(score).all():
        bad = int((~np.isfinite(score)).sum())
        remedy = "leave out observations that were not made; never put 0 for them"
        problems.add("score", f"{bad} values", "are not numbers", remedy)
    for name, code in codes.items():
        if code.shape != score.shape or not np.issubdtype(code.dtype, np.integer) or (code < 0).any():
            remedy = f"use {len(score)} whole numbers from 0"
            problems.add(name, f"shape {code.shape}, {code.dtype}", "are not codes", remedy)
    problems.raise_any()
