"""The many-facet Rasch analysis of an exam: abilities, difficulties, severities and thresholds on one scale.

Marks adjusted for severity are reported and not applied: a pass mark was set for marks as given.
"""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike

from fabella.assess.facets_ability import abilities
from fabella.assess.facets_fit import expected_mark, fits
from fabella.assess.facets_linked import check_linked, linked_groups
from fabella.assess.facets_marginal import MarginalFit, marginal_fit
from fabella.assess.facets_measures import Measures, RaschFit
from fabella.assess.facets_ratings import Ratings, contrasts, ratings
from fabella.assess.gstudy_blocks import within as nested
from fabella.assess.gstudy_design import Codes, coded
from fabella.errors import Problems, suggestion
from fabella.stats.threads import one_thread


def rasch(
    mark: ArrayLike,
    *,
    candidate: ArrayLike,
    facets: Mapping[str, ArrayLike],
    scale: ArrayLike | None = None,
    centred: Mapping[str, ArrayLike] | None = None,
    alike: bool = False,
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
    centred
        For a facet, the codes of what it sums to 0 within, shape (n,): {"examiner": station} for examiners
        who keep to a station, who can be compared at their station only.
    alike
        True if candidates were allotted to examiners at random, so that groups of examiners without common
        candidates may be compared.
    correction
        Whether estimates, which lie too far apart where marks are few, are drawn together: see
        `facets_marginal`.
    names
        Names of the levels of facets, for messages.

    Raises
    ------
    InputError
        When marks or codes are unusable, when examiners cannot be compared (the message names the groups), or
        when the estimates do not exist.

    References
    ----------
    Linacre 1989 Many-facet Rasch measurement (from memory). Estimates: `facets_marginal`.
    """
    data = ratings(mark, candidate=candidate, facets=facets, scale=scale)
    columns = contrasts(_groups(data, centred or {}), data.tops, data.marks.shape[1] - 1)
    check_linked(data, linked_groups(data, columns, alike=alike), names or {}, alike=alike)
    with one_thread(scipy_too=True):
        return _analysis(data, marginal_fit(data, columns, correction=correction), alike=alike)


def _groups(data: Ratings, centred: Mapping[str, ArrayLike]) -> tuple[Codes, ...]:
    problems = Problems()
    groups = []
    for name, code, levels in zip(data.facets, data.codes, data.levels, strict=True):
        group = np.zeros(levels, dtype=np.intp)
        if name in centred:
            outer = coded(centred[name])
            if outer.shape != code.shape or not nested(code, outer):
                problems.add("centred", name, "does not keep to one group a level", "centre it over all")
            else:
                group[code] = outer
        groups.append(group)
    for name in centred:
        if name not in data.facets:
            problems.add("centred", name, "is not a facet", suggestion(name, data.facets))
    problems.raise_any()
    return tuple(groups)


def _analysis(data: Ratings, fit: MarginalFit, *, alike: bool) -> RaschFit:
    """Return what follows from a fit: weighted abilities, fit to the model and fair averages."""
    weighted, weighted_se = abilities(data, fit.effects, fit.thresholds, start=fit.expected)
    of_candidates, *of_facets = fits(data, weighted, fit.effects, fit.thresholds)
    facets = []
    for name, start, stop, fitted in zip(
        data.facets, data.offsets, data.offsets[1:], of_facets, strict=False
    ):
        estimate, se = fit.effects[start:stop], fit.effects_se[start:stop]
        fair = expected_mark(data, fit.mean - estimate, fit.thresholds)
        facets.append(Measures(name=name, estimate=estimate, se=se, fit=fitted, fair=fair))
    known, unknown = float(fit.expected.var(ddof=1)), float((fit.expected_sd**2).mean())
    return RaschFit(
        candidates=Measures(
            name="candidate",
            estimate=fit.expected,
            se=fit.expected_se,
            fit=of_candidates,
            fair=expected_mark(data, fit.expected, fit.thresholds),
        ),
        facets=tuple(facets),
        weighted=weighted,
        weighted_se=weighted_se,
        thresholds=fit.thresholds,
        mean=fit.mean,
        spread=fit.spread,
        reliability=known / (known + unknown),
        deviance=fit.deviance,
        warnings=tuple(_warnings(data, alike=alike)),
    )


def _warnings(data: Ratings, *, alike: bool) -> Iterator[str]:
    for scale in data.closed:
        yield f"scale {scale}: marks that were never given were closed up"
    if extreme := int(data.is_extreme.sum()):
        told = "1 candidate has" if extreme == 1 else f"{extreme} candidates have"
        yield f"{told} nothing or everything: what is said of their ability is a guess"
    if alike:
        yield "examiners without common candidates are compared as if candidates were allotted at random"
