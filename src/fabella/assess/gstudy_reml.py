"""Variance components and effects by restricted maximum likelihood (REML), for any design.

The deviance and its search are in `gstudy_profile`. Standard errors of components come from the average
information (Gilmour, Thompson and Cullis 1995 Biometrics 51:1440, from memory), which on balanced data gives
the usual 2 MS²/df. Predicted effects are best linear unbiased predictions with their prediction errors
(Robinson 1991 Stat Sci 6:15, from memory).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import starmap

import numpy as np
from numpy.typing import ArrayLike

from fabella.assess.components import Component, Components
from fabella.assess.gstudy_design import Array, Codes, Design, cells, check_lengths, coded
from fabella.assess.gstudy_profile import Profile
from fabella.errors import InputError, Problems
from fabella.stats.threads import one_thread


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Effects:
    """Predicted effects of one term: how far each level lies from the mean.

    Parameters
    ----------
    name
        Of the term.
    estimate
        Best linear unbiased prediction [mark] of each level in the data, in ascending order of its code; for
        an interaction, in ascending order of its cells.
    se
        Its prediction error [mark], same shape; does not contain the error of the variance components.
    n
        Observations of each level [-], same shape.
    """

    name: str
    estimate: Array
    se: Array
    n: Codes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MixedModel:
    """A fitted mixed model.

    Parameters
    ----------
    components
        Variance components; the last is the residual.
    theta
        SD of each random term over the residual SD [-].
    fixed, fixed_se
        Coefficients of the fixed columns [mark a unit of the column] and their standard errors.
    effects
        Predicted effects of each random term, in the order given.
    fitted
        Fixed and predicted random effects of each observation [mark], shape (n,).
    deviance
        -2 restricted log likelihood [-].
    converged
        False when the search did not end properly; the numbers are then not to be used.
    profile
        The deviance as a function of the ratios of SDs, for `gstudy_predict`.
    """

    components: Components
    theta: Array
    fixed: Array
    fixed_se: Array
    effects: tuple[Effects, ...]
    fitted: Array
    deviance: float
    converged: bool
    profile: Profile

    def of(self, name: str) -> Effects:
        """Return the predicted effects of this term."""
        self.components.of(name)
        for effect in self.effects:
            if effect.name == name:
                return effect
        remedy = "several marks of each level are needed"
        raise InputError.of(place=name, says="cannot be told from error", remedy=remedy)


def reml(
    score: ArrayLike,
    codes: Mapping[str, ArrayLike],
    *,
    design: Design,
    terms: Sequence[tuple[str, ...]] | None = None,
    fixed: ArrayLike | None = None,
) -> MixedModel:
    """Return the REML fit of an exam, balanced or not.

    Parameters
    ----------
    score
        One score an observation [mark], shape (n,); missing ones are left out.
    codes
        For each facet of the design, whole numbers that tell its levels apart, shape (n,).
    design
        Which facets cross and nest.
    terms
        Random effects, as in `Design.effects`; all of the design when None. A term with one observation in
        every cell is the residual.
    fixed
        Columns of fixed effects, shape (n, f), independent of each other; the intercept alone when None.

    Raises
    ------
    InputError
        When scores or codes are unusable, or there are no more observations than levels.
    """
    y = np.asarray(score, dtype=np.float64)
    kept: dict[str, Codes] = {name: coded(codes[name]) for name in design.facets}
    check_lengths(y, kept)
    wanted = list(design.effects if terms is None else terms)
    cell = {effect: cells(kept, effect) for effect in wanted}
    columns = np.ones((len(y), 1)) if fixed is None else np.asarray(fixed, dtype=np.float64)
    unique = {effect for effect in wanted if int(cell[effect].max()) + 1 == len(y)}
    random = {effect: cell[effect] for effect in wanted if effect not in unique}
    _check(y, random, columns, design)
    named = [(design.name(effect), effect) for effect in random]
    last = min(unique, key=len) if unique else design.facets
    with one_thread(scipy_too=True):
        profile = Profile(y, columns, list(random.values()))
        theta, converged = profile.run()
        last_named = (design.name(last) if unique else "residual", last)
        return _result(profile, theta, named, last_named, converged=converged)


def _result(
    profile: Profile,
    theta: Array,
    terms: list[tuple[str, tuple[str, ...]]],
    last: tuple[str, tuple[str, ...]],
    *,
    converged: bool,
) -> MixedModel:
    """Return the fit at this theta; terms come with their names, the residual last."""
    factored, solved, variance = profile.at(theta)
    first = profile.equations.random_rest
    effect = [u * t for u, t in zip(profile.equations.split(solved), theta, strict=True)]
    spread = [
        d * t**2 * variance for d, t in zip(profile.equations.split(factored.diagonal()), theta, strict=True)
    ]
    beta = solved[1][first:]
    fitted = profile.equations.fixed @ beta + sum(
        (u[code] for u, code in zip(effect, profile.random, strict=True)), np.zeros(len(profile.y))
    )
    error = _errors(profile, theta, effect, fitted)
    names = [*terms, last]
    levels = [*profile.equations.levels, len(profile.y)]
    values = [*(theta**2 * variance), variance]
    parts = tuple(
        Component(name=name, effect=facets, variance=float(v), se=se, levels=count)
        for (name, facets), v, se, count in zip(names, values, error, levels, strict=True)
    )
    at_zero = [name for (name, _), t in zip(terms, theta, strict=True) if t == 0]
    warnings = [f"the variance of {name} came out as 0, below which there is none" for name in at_zero]
    if not converged:
        warnings.append("the search did not end properly: do not use these numbers")
    beta, beta_se = beta.copy(), np.sqrt(variance * np.diagonal(factored.inverse_rest)[first:])
    constant = np.linalg.lstsq(profile.equations.fixed, np.full(len(profile.y), profile.centre))[0]
    beta += constant
    mean = float((profile.equations.fixed @ beta).mean())
    predicted = starmap(
        _effects, zip([name for name, _ in terms], effect, spread, profile.random, strict=True)
    )
    return MixedModel(
        components=Components(
            method="REML", parts=parts, mean=mean, n=len(profile.y), warnings=tuple(warnings)
        ),
        theta=theta,
        fixed=beta,
        fixed_se=beta_se,
        effects=tuple(predicted),
        fitted=fitted + profile.centre,
        deviance=profile.deviance(np.maximum(theta, 1e-12))[0],
        converged=converged,
        profile=profile,
    )


def _errors(profile: Profile, theta: Array, effect: list[Array], fitted: Array) -> list[float | None]:
    """Return standard errors from the average information; None for a variance at its bound."""
    factored, _, variance = profile.at(theta)
    inside = [k for k, t in enumerate(theta) if t > 0]
    working = [effect[k][profile.random[k]] / (theta[k] ** 2 * variance) for k in inside]
    working.append((profile.y - fitted) / variance)
    projected = []
    for each in working:
        solved = factored.solve(*profile.equations.right_side(each))
        scaled = [u * t for u, t in zip(profile.equations.split(solved), theta, strict=True)]
        model = profile.equations.fixed @ solved[1][profile.equations.random_rest :]
        model = sum((u[c] for u, c in zip(scaled, profile.random, strict=True)), model)
        projected.append((each - model) / variance)
    information = np.array([[a @ b / 2 for b in projected] for a in working])
    covariance = np.linalg.pinv((information + information.T) / 2)
    found: list[float | None] = [None] * (len(theta) + 1)
    for k, v in zip([*inside, len(theta)], np.diagonal(covariance), strict=True):
        found[k] = float(np.sqrt(max(v, 0.0)))
    return found


def _effects(name: str, estimate: Array, variance: Array, code: Codes) -> Effects:
    return Effects(name=name, estimate=estimate, se=np.sqrt(variance), n=np.bincount(code))


def _check(y: Array, random: Mapping[tuple[str, ...], Codes], columns: Array, design: Design) -> None:
    problems = Problems()
    if columns.ndim != 2 or len(columns) != len(y) or not np.isfinite(columns).all():
        problems.add("fixed", f"shape {columns.shape}", "is unusable", f"{len(y)} finite rows")
    elif np.linalg.matrix_rank(columns) < columns.shape[1]:
        says, remedy = "columns depend on each other", "leave out what follows from the others"
        problems.add("fixed", str(columns.shape[1]), says, remedy)
    if not random:
        says, remedy = "leave nothing but a residual", "give an effect with several observations in a cell"
        problems.add("terms", "the effects", says, remedy)
    for effect, code in random.items():
        if int(code.max()) == 0:
            problems.add("terms", design.name(effect), "has one level only", "leave it out")
    if y.size and np.ptp(y) == 0:
        problems.add("scores", "", f"are all {y[0]:g}", "there is nothing to analyse")
    problems.raise_any()
