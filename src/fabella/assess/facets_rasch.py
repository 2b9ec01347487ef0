"""The many-facet Rasch analysis of an exam: abilities, difficulties, severities and thresholds on one scale.

Marks adjusted for severity are reported and not applied: a pass mark was set for marks as given.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike

from fabella.assess.facets_ability import abilities
from fabella.assess.facets_fit import expected_mark, fits, separation
from fabella.assess.facets_joint import Extremes, JointFit, joint_fit
from fabella.assess.facets_linked import check_linked, linked_groups
from fabella.assess.facets_marginal import MarginalFit, marginal_fit
from fabella.assess.facets_measures import Estimator, Measures, RaschFit
from fabella.assess.facets_ratings import Ratings, contrasts, ratings
from fabella.assess.gstudy_blocks import within as nested
from fabella.assess.gstudy_design import Array, Codes, coded
from fabella.errors import InputError, Problem, suggestion
from fabella.stats.threads import one_thread


def rasch(
    mark: ArrayLike,
    *,
    candidate: ArrayLike,
    facets: Mapping[str, ArrayLike],
    scale: ArrayLike | None = None,
    estimator: Estimator = "marginal",
    centred: Mapping[str, ArrayLike] | None = None,
    alike: bool = False,
    extremes: Extremes = "left out",
    correction: bool = True,
    names: Mapping[str, Sequence[str]] | None = None,
) -> RaschFit:
    """Return the many-facet Rasch analysis of an exam.

    Parameters
    ----------
    mark
        Marks in steps that mean the same throughout a scale [mark], shape (n,).
    candidate
        Code of the candidate, shape (n,).
    facets
        Codes of stations, items, examiners …, each of shape (n,).
    scale
        Code of the rating scale, shape (n,), to give stations thresholds of their own; None: one for all.
    estimator
        "marginal" integrates abilities over a normal distribution; "joint" estimates each.
    centred
        For a facet, the codes of what it sums to 0 within, shape (n,): {"examiner": station} for examiners
        who keep to a station, who can be compared at their station only.
    alike
        True if candidates were allotted to examiners at random, so that groups of examiners without common
        candidates may be compared; "marginal" only.
    extremes
        Of "joint" likelihood: see `facets_joint`.
    correction
        Whether estimates, which lie too far apart where marks are few, are drawn together: see `facets_joint`
        and `facets_marginal`.
    names
        Names of the levels of facets, for messages.

    Raises
    ------
    InputError
        When marks or codes are unusable, when examiners cannot be compared (the message names the groups), or
        when the estimates do not exist.

    References
    ----------
    Linacre 1989 Many-facet Rasch measurement (from memory). Joint and marginal estimates: `facets_joint` and
    `facets_marginal`.
    """
    data = ratings(mark, candidate=candidate, facets=facets, scale=scale)
    columns = contrasts(_groups(data, centred or {}), data.tops, data.marks.shape[1] - 1)
    if alike and estimator == "joint":
        remedy = "use the marginal likelihood"
        raise InputError([Problem(place="alike", value="true", says="needs a population", remedy=remedy)])
    check_linked(data, linked_groups(data, columns, alike=alike), names or {}, alike=alike)
    with one_thread(scipy_too=True):
        if estimator == "joint":
            return _from_joint(data, joint_fit(data, columns, extremes=extremes, correction=correction))
        return _from_marginal(data, marginal_fit(data, columns, correction=correction), alike=alike)


def _groups(data: Ratings, centred: Mapping[str, ArrayLike]) -> tuple[Codes, ...]:
    problems = []
    groups = []
    for name, code, levels in zip(data.facets, data.codes, data.levels, strict=True):
        group = np.zeros(levels, dtype=np.intp)
        if name in centred:
            outer = coded(centred[name])
            if outer.shape != code.shape or not nested(code, outer):
                says, remedy = "does not keep to one group a level", "centre it over all"
                problems.append(Problem(place="centred", value=name, says=says, remedy=remedy))
            else:
                group[code] = outer
        groups.append(group)
    for name in centred:
        if name not in data.facets:
            remedy = suggestion(name, data.facets)
            problems.append(Problem(place="centred", value=name, says="is not a facet", remedy=remedy))
    if problems:
        raise InputError(problems)
    return tuple(groups)


def _from_joint(data: Ratings, fit: JointFit) -> RaschFit:
    inside = np.setdiff1d(np.arange(data.n_candidates), fit.extreme)
    ability, error = fit.ability[inside], fit.ability_se[inside]
    drawn = f"facets and thresholds were multiplied by {fit.shrunk:.3f} to correct joint likelihood"
    return _analysis(
        data,
        fit,
        estimator="joint",
        ability=(fit.ability, fit.ability_se),
        population=(float(ability.mean()), float(ability.std(ddof=1))),
        reliability=separation(ability, error).reliability,
        warnings=(drawn,) if fit.shrunk < 1 else (),
    )


def _from_marginal(data: Ratings, fit: MarginalFit, *, alike: bool) -> RaschFit:
    known, unknown = float(fit.expected.var(ddof=1)), float((fit.expected_sd**2).mean())
    by_lot = "examiners without common candidates are compared as if candidates were allotted at random"
    return _analysis(
        data,
        fit,
        estimator="marginal",
        ability=(fit.expected, fit.expected_se),
        population=(fit.mean, fit.spread),
        reliability=known / (known + unknown),
        warnings=(by_lot,) if alike else (),
    )


def _analysis(
    data: Ratings,
    fit: JointFit | MarginalFit,
    *,
    estimator: Estimator,
    ability: tuple[Array, Array],
    population: tuple[float, float],
    reliability: float,
    warnings: tuple[str, ...],
) -> RaschFit:
    """Return what follows from a fit: weighted abilities, fit and fair averages, whichever way it was found.

    ``ability`` holds abilities and errors, ``population`` mean and spread of them.
    """
    weighted, weighted_se = abilities(data, fit.effects, fit.thresholds, kind="WL", start=ability[0])
    measured = fits(data, ability[0] if estimator == "joint" else weighted, fit.effects, fit.thresholds)
    fair = expected_mark(data, ability[0], fit.thresholds)
    facets = []
    for name, start, stop, fitted in zip(
        data.facets, data.offsets, data.offsets[1:], measured[1:], strict=False
    ):
        estimate, se = fit.effects[start:stop], fit.effects_se[start:stop]
        expected = expected_mark(data, population[0] - estimate, fit.thresholds)
        facets.append(Measures(name=name, estimate=estimate, se=se, fit=fitted, fair=expected))
    extreme = np.flatnonzero(data.is_extreme)
    return RaschFit(
        estimator=estimator,
        candidates=Measures(name="candidate", estimate=ability[0], se=ability[1], fit=measured[0], fair=fair),
        facets=tuple(facets),
        weighted=weighted,
        weighted_se=weighted_se,
        thresholds=fit.thresholds,
        mean=population[0],
        spread=population[1],
        reliability=reliability,
        deviance=fit.deviance,
        warnings=(*_warnings(data, extreme), *warnings),
    )


def _warnings(data: Ratings, extreme: Codes) -> tuple[str, ...]:
    found = [f"scale {g}: marks that were never given were closed up" for g in data.closed]
    if len(extreme):
        found.append(f"{len(extreme)} candidates have nothing or everything: their ability is a guess")
    return tuple(found)
