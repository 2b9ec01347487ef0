"""Designs written as text, and their variance components by Henderson's method 1, to compare with."""

import numpy as np

from fabella.assess.components import Component, Components, negative_warnings
from fabella.assess.gstudy_design import Design, cells, coded
from fabella.assess.gstudy_profile import expected_counts
from tests.assess.worked_tables import Codes, Scores


def parse_design(text: str) -> Design:
    """Return a design written as ``p x s``, ``p x (r:s)`` (r within s), ``(p:c) x s`` or ``s:p``."""
    chains = [part.strip("()").split(":") for part in text.split(" x ")]
    nests = {name: tuple(chain[i + 1 :]) for chain in chains for i, name in enumerate(chain)}
    names = [name for chain in chains for name in reversed(chain)]
    return Design(facets=tuple(names), nests=tuple(nests[name] for name in names))


def henderson(score: Scores, codes: Codes, *, design: Design) -> Components:
    """Return variance components of an exam, balanced or not, by solving Henderson's equations as they are.

    All effects are random; estimates are unbiased and may be negative.
    """
    kept = {name: coded(codes[name]) for name in design.facets}
    cell = {effect: cells(kept, effect) for effect in design.effects}
    last = design.effects[-1]
    if int(cell[last].max()) + 1 == len(
        score
    ):  # one observation a cell: the highest interaction is the residual
        del cell[last]
    matrix, t = expected_counts(score - score.mean(), list(cell.values()))
    found = np.linalg.solve(matrix, t)[1:]
    effects = [*cell, last]
    names = [*(design.name(effect) for effect in cell), "residual" if last in cell else design.name(last)]
    levels = [*(int(code.max()) + 1 for code in cell.values()), len(score)]
    parts = tuple(
        Component(name=name, effect=effect, variance=float(v), se=None, levels=count)
        for name, effect, v, count in zip(names, effects, found, levels, strict=True)
    )
    warnings = negative_warnings(parts)
    return Components(method="ANOVA", parts=parts, mean=float(score.mean()), n=len(score), warnings=warnings)
