"""How dependable an exam was and would be: design, components, G and Phi, and numbers of stations.

Source: Brennan 2001 Generalizability Theory, chapters 3, 4 and 7 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fabella.assess.components import Components
from fabella.assess.dstudy import Dependability, as_marked, phi_at_cut
from fabella.assess.dstudy_curves import CurvePoint, curve, needed
from fabella.assess.gstudy_design import Design, coded
from fabella.assess.gstudy_detect import Detected, detect, g_study
from fabella.errors import InputError

MOST_STATIONS = 40
_AGREE = 1e-4  # of the sum of all components
_FEWEST = 2  # candidates


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Needed:
    """Stations needed for a target, with so many examiners at each; None where no number suffices."""

    examiners: int
    target: float
    phi: int | None
    g: int | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Generalizability:
    """How dependable the mean score over stations is, as marked and as planned.

    Parameters
    ----------
    detected
        The design that the marks follow.
    components
        By REML.
    by_anova
        By the analysis of variance; None unless the data are balanced.
    agrees
        Whether the two agree; None where there is one only, they part the effects differently, or ANOVA finds
        a component below 0, which REML holds at 0.
    dependability
        As the exam was held.
    phi_at_cut
        Of decisions at the pass mark [-].
    curve
        For 1 to 40 stations with as many examiners at each as there were.
    needed
        Stations for the target, with one examiner at each and with two.
    """

    detected: Detected
    components: Components
    by_anova: Components | None
    agrees: bool | None
    dependability: Dependability
    phi_at_cut: float
    curve: tuple[CurvePoint, ...]
    needed: tuple[Needed, ...]


def generalizability(
    score: ArrayLike,
    codes: Mapping[str, ArrayLike],
    *,
    cut: float,
    weight: ArrayLike | None = None,
    target: float = 0.8,
) -> Generalizability:
    """Return how dependable an exam is.

    Parameters
    ----------
    score
        Scores of sheets, shape (n,), no gaps.
    codes
        ``candidate``, ``station``, ``circuit`` and ``examiner``, each of shape (n,).
    cut
        Pass mark, in the unit of the scores.
    weight
        What each sheet counts in the score of its candidate, above 0, shape (n,); None if all the same. The
        curve and the numbers of stations are those of stations that count alike.
    target
        Wanted coefficient [-].

    Raises
    ------
    InputError
        When scores or codes are unusable, no effect can be estimated, the search for them failed, or
        candidates have too few scores each, so that what they can do cannot be told from error.
    """
    _check_candidates(detect(codes), n=len(np.unique(np.asarray(codes["candidate"]))))
    found = g_study(score, codes)
    if not found.model.converged:
        says = "of candidates, stations and what is left could not be told apart"
        remedy = "too few marks, or too much alike; pass mark and decisions do not rest on this"
        raise InputError.of(place="variances", says=says, remedy=remedy)
    detected, components = found.detected, found.model.components
    kept = {name: codes[name] for name in detected.design.facets}
    held = as_marked(components, design=detected.design, codes=kept, weight=weight)
    mean = None if weight is None else _mean_score(score, codes["candidate"], weight)
    planned, counts = _planned(detected.design, codes)
    by_anova = found.balanced.components if found.balanced else None
    wanted = () if "station" not in counts else (1, 2) if "examiner" in counts else (1,)
    return Generalizability(
        detected=detected,
        components=components,
        by_anova=by_anova,
        agrees=_agree(components, by_anova),
        dependability=held,
        phi_at_cut=phi_at_cut(
            components, held, cut=cut, design=detected.design, codes=kept, mean=mean, weight=weight
        ),
        curve=()
        if "station" not in counts
        else curve(
            components, design=planned, facet="station", numbers=range(1, MOST_STATIONS + 1), counts=counts
        ),
        needed=tuple(_needed(components, planned, counts, n, target) for n in wanted),
    )


def _check_candidates(detected: Detected, *, n: int) -> None:
    """Refuse marks in which the variance between n candidates is not parted from what is left over."""
    design = detected.design
    if n < _FEWEST:
        says, remedy = "are too few to differ", "two or more are needed"
        raise InputError.of(place="candidates", says=says, remedy=remedy)
    if "candidate" not in design.facets or design.closure(["candidate"]) not in detected.terms:
        says = "have too few scores each, so that what they can do cannot be told from error"
        remedy = "several scores of each candidate are needed"
        raise InputError.of(place="candidates", says=says, remedy=remedy)


def _mean_score(score: ArrayLike, candidate: ArrayLike, weight: ArrayLike) -> float:
    """Return the mean over candidates of their weighted mean scores."""
    person, y, worth = coded(candidate), np.asarray(score, np.float64), np.asarray(weight, np.float64)
    return float((np.bincount(person, worth * y) / np.bincount(person, worth)).mean())


def _planned(design: Design, codes: Mapping[str, ArrayLike]) -> tuple[Design, dict[str, float]]:
    """Return the design to plan with, examiners keeping to a station, and how many of each one meets."""
    own = design.closure(design.facets[:1])
    at_station = design.closure(["station"]) if "station" in design.facets else ()
    nests = tuple(
        tuple(dict.fromkeys((*outer, *at_station))) if name == "examiner" else outer
        for name, outer in zip(design.facets, design.nests, strict=True)
    )
    counts = {}
    for name in design.facets:
        if name == "examiner" and name not in own:
            person, station = np.asarray(codes["candidate"]), np.asarray(codes["station"])
            counts[name] = len(person) / len(np.unique(person * (int(station.max()) + 1) + station))
        elif name not in own:
            counts[name] = float(len(np.unique(np.asarray(codes[name])))) if name == "station" else 1.0
    return Design(facets=design.facets, nests=nests), counts


def _needed(
    components: Components, design: Design, counts: Mapping[str, float], examiners: int, target: float
) -> Needed:
    of = {**counts, "examiner": float(examiners)} if "examiner" in counts else dict(counts)
    phi, g = (
        needed(components, design=design, facet="station", target=target, counts=of, coefficient=each)
        for each in ("phi", "g")
    )
    return Needed(examiners=examiners, target=target, phi=phi, g=g)


def _agree(components: Components, other: Components | None) -> bool | None:
    if other is None or any(part.variance < 0 for part in other.parts):
        return None
    total = sum(part.used for part in components.parts)
    theirs = {frozenset(part.effect): part.used for part in other.parts}
    ours = {frozenset(part.effect): part.used for part in components.parts}
    if set(theirs) != set(ours):  # some effects were joined
        return None
    return all(abs(ours[effect] - theirs[effect]) <= _AGREE * total for effect in ours)
