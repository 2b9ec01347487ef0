"""How dependable an exam is, as it was held and as it might be held: G, Phi and their errors.

A candidate's score is a mean. Of an effect with variance s² the mean carries s² / n', n' being how many of
its cells the mean runs over. Effects that hold the candidate disturb the ranking (relative error, delta);
all effects but the candidate disturb a decision against a fixed mark (absolute error, Delta):
G = tau / (tau + delta), Phi = tau / (tau + Delta). A facet that is fixed, because the exam claims these
stations only, moves its interaction with the candidate into the true score tau.

References: Brennan 2001 Generalizability Theory, sections 4.1 to 4.4 and 7.3; Brennan and Kane 1977 J Educ
Meas 14:277 (from memory; the printed coefficients of Brennan's data sets are the tests).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import prod, sqrt
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from fabella.assess.components import Components
from fabella.assess.gstudy_design import Array, Codes, Design, cells, coded
from fabella.errors import Problems, suggestion

Outer = Literal["error", "true score"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dependability:
    """True variance and error variances of a candidate's mean score [mark²]."""

    true: float
    relative: float
    absolute: float

    @property
    def g(self) -> float:
        """Return the generalizability coefficient [-]: how far the ranking would repeat."""
        return self.true / (self.true + self.relative) if self.true else 0.0

    @property
    def phi(self) -> float:
        """Return the index of dependability [-]: how far scores, and not only ranks, would repeat."""
        return self.true / (self.true + self.absolute) if self.true else 0.0

    @property
    def sem_relative(self) -> float:
        """Return the standard error of a mean score among candidates [mark]."""
        return sqrt(self.relative)

    @property
    def sem_absolute(self) -> float:
        """Return the standard error of a mean score against a fixed mark [mark]."""
        return sqrt(self.absolute)


def project(
    components: Components,
    *,
    design: Design,
    counts: Mapping[str, float],
    fixed: Iterable[str] = (),
    outer: Outer = "error",
) -> Dependability:
    """Return how dependable an exam of other numbers would be.

    Parameters
    ----------
    components
        Of an exam whose facets include those with components here.
    design
        The exam planned; the first facet is the candidates. A facet may nest that crossed before: examiners
        who roamed among stations can be planned to stay at one.
    counts
        For every other facet but what candidates are nested in, how many a candidate meets [-]; of a nested
        facet, how many in each of what it is nested in.
    fixed
        Facets of which no other levels are meant.
    outer
        Whether what candidates are nested in (their circuit, their school) is an "error" of a candidate's
        score or belongs to their "true score".

    Raises
    ------
    InputError
        When a facet has no count, a count below 1, or is not in the design.
    """
    own = design.closure(design.facets[:1])
    wanted = [name for name in design.facets if name not in own]
    _check_names(wanted, counts, fixed)
    share = {}
    for part in components.parts:
        others = [name for name in design.closure(part.effect) if name not in own]
        share[part.name] = 1 / prod(counts[name] for name in others)
    return _gather(components, design, share, tuple(fixed), outer)


def as_marked(
    components: Components,
    *,
    design: Design,
    codes: Mapping[str, ArrayLike],
    weight: ArrayLike | None = None,
    fixed: Iterable[str] = (),
    outer: Outer = "error",
) -> Dependability:
    """Return how dependable the mean scores of an exam are as it was held, balanced or not.

    The share of an effect is the mean over candidates of the sum over its cells b of (n_pb / n_p)²
    (Brennan 2001, section 7.3.1, from memory); with weights, n is what they add up to.

    Parameters
    ----------
    components, design, fixed, outer
        As in `project`.
    codes
        For each facet, codes of its levels, shape (n,).
    weight
        What each observation counts in the mean of its candidate, above 0, shape (n,); None if all the same.
    """
    kept: dict[str, Codes] = {name: coded(codes[name]) for name in design.facets}
    person = kept[design.facets[0]]
    worth = _of_candidate(person, weight)
    share = {}
    for part in components.parts:
        cell = cells(kept, part.effect) if part.levels < len(person) else np.arange(len(person))
        both = coded(person * (int(cell.max()) + 1) + cell)
        share[part.name] = float((np.bincount(both, worth) ** 2).sum() / (int(person.max()) + 1))
    return _gather(components, design, share, tuple(fixed), outer)


def _of_candidate(person: Codes, weight: ArrayLike | None) -> Array:
    """Return what each observation counts in the mean of its candidate [-]."""
    worth = np.ones(len(person)) if weight is None else np.asarray(weight, dtype=np.float64)
    return np.asarray(worth / np.bincount(person, worth)[person], dtype=np.float64)


def _gather(
    components: Components, design: Design, share: Mapping[str, float], fixed: tuple[str, ...], outer: Outer
) -> Dependability:
    """Add up what each effect brings to the true score, the relative and the absolute error."""
    candidate = design.facets[0]
    own = design.closure([candidate])
    true = relative = absolute = 0.0
    for part in components.parts:
        variance = part.used * share[part.name]
        effect = design.closure(part.effect)
        others = [name for name in effect if name not in own]
        random = any(name not in fixed for name in others)
        holds = candidate in effect
        touches = any(name in own for name in effect)
        if touches and not random and (holds or outer == "true score"):
            true += variance
        elif holds or (touches and outer == "true score"):
            relative += variance
            absolute += variance
        elif touches or random:
            absolute += variance
    return Dependability(true=true, relative=relative, absolute=absolute)


def phi_at_cut(
    components: Components,
    dependability: Dependability,
    *,
    cut: float,
    design: Design,
    codes: Mapping[str, ArrayLike],
    mean: float | None = None,
    weight: ArrayLike | None = None,
) -> float:
    """Return Phi(lambda) [-], the dependability of decisions at a pass mark, estimated without bias.

    It is high when the mean lies far from the pass mark, however poor the exam: read it beside Phi.

    Parameters
    ----------
    components, dependability
        Of the exam.
    cut
        Pass mark [mark].
    design, codes
        As in `as_marked`; from them follows the error of the grand mean.
    mean, weight
        Mean of the candidates' scores [mark], and the weights as in `as_marked`, where observations do not
        count alike; None: every observation counts the same in the grand mean of the components.

    References
    ----------
    Brennan and Kane 1977 J Educ Meas 14:277-289 (from memory).
    """
    kept: dict[str, Codes] = {name: coded(codes[name]) for name in design.facets}
    person = kept[design.facets[0]]
    worth = np.full(len(person), 1 / len(person))
    if weight is not None:
        worth = _of_candidate(person, weight) / (int(person.max()) + 1)
    error = 0.0
    for part in components.parts:
        whole = np.bincount(cells(kept, part.effect), worth) if part.levels < components.n else worth
        error += part.used * float((whole**2).sum())
    distance = ((components.mean if mean is None else mean) - cut) ** 2 - error
    signal = dependability.true + distance
    return signal / (signal + dependability.absolute) if signal > 0 else 0.0


def _check_names(wanted: list[str], counts: Mapping[str, float], fixed: Iterable[str]) -> None:
    problems = Problems()
    for name in wanted:
        if name not in counts:
            problems.add("counts", name, "has no number", "give how many")
        elif counts[name] < 1:
            problems.add(name, str(counts[name]), "is too few", "use 1 or more")
    for name in [*counts, *fixed]:
        if name not in wanted:
            problems.add("facet", name, "is not averaged over", suggestion(name, wanted))
    problems.raise_any()
