"""Whether examiners change through the day, or mark a candidate by the one before.

Drift: score on running order within the examiner. Contrast: score on how good the previous candidate of the
same examiner was at the other stations; their mark at this station would carry the examiner's own error
and bias the slope. Both are fixed effects in a mixed model of candidate, station and examiner, drift also in
the model of contrast.

Source: common practice; the mixed model as in `severity`. That previous performances can pull marks the other
way: Yeates, O'Neill, Mann and Eva 2012 JAMA 308:2226 (from memory).
"""

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import ArrayLike

from fabella.assess.gstudy_blocks import within
from fabella.assess.gstudy_design import Array, Codes, check_lengths, coded
from fabella.assess.gstudy_reml import MixedModel, reml
from fabella.assess.severity import design_of
from fabella.errors import InputError

_FEWEST = 5  # marks of an examiner, below which no slope of their own is given


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """A slope [mark a unit], its standard error, and the chance of one so steep if there were none [-]."""

    slope: float
    se: float
    p: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drift:
    """How marks change through the day.

    Parameters
    ----------
    drift
        Common slope on running order [mark a candidate]: above 0, examiners grow milder.
    contrast
        Common slope on the previous candidate's mean at other stations [mark a mark]: below 0, a good
        candidate harms the next one. None when nobody followed anybody.
    slopes, slopes_se, slopes_p
        Slope on running order of each examiner in ascending order of codes, from the residuals of the model;
        NaN for fewer than 5 marks. The error holds that of the common slope too: abler candidates late in
        the day, by chance, make all examiners of a circuit seem to grow milder.
    holm
        The p of each examiner made larger for the number of examiners looked at (Holm 1979 Scand J Stat 6:65,
        from memory) [-].
    """

    drift: Slope
    contrast: Slope | None
    slopes: Array
    slopes_se: Array
    slopes_p: Array
    holm: Array


def drift(
    score: ArrayLike, *, candidate: ArrayLike, station: ArrayLike, examiner: ArrayLike, order: ArrayLike
) -> Drift:
    """Return drift through the day and contrast with the previous candidate.

    Parameters
    ----------
    score
        Station scores [mark], shape (n,).
    candidate, station, examiner
        Codes, shape (n,).
    order
        Running order within the examiner: 1 for their first candidate, or the time of starting [any unit].

    Raises
    ------
    InputError
        When the data are unusable or order does not vary within any examiner.
    """
    y, when = np.asarray(score, dtype=np.float64), np.asarray(order, dtype=np.float64)
    codes = {"candidate": coded(candidate), "station": coded(station), "examiner": coded(examiner)}
    check_lengths(y, codes)
    late = _centred(when, codes["examiner"])
    if when.shape != y.shape or not np.isfinite(when).all() or np.ptp(late) == 0:
        remedy = "give the order in which each examiner saw candidates"
        raise InputError.of(place="order", says="does not vary within examiners", remedy=remedy)
    model = _model(y, codes, [late], np.arange(len(y)))
    common = _slope(model, codes["candidate"])
    slopes, se, p = _own(y - model.fitted + late * common.slope, late, codes["examiner"], common)
    follows, before = _previous(y, codes, when)
    contrast = None
    if len(follows) > _FEWEST and np.ptp(before) > 0:
        columns = [before - before.mean(), late[follows]]
        contrast = _slope(_model(y, codes, columns, follows), codes["candidate"][follows])
    return Drift(drift=common, contrast=contrast, slopes=slopes, slopes_se=se, slopes_p=p, holm=_holm(p))


def _model(y: Array, codes: dict[str, Codes], columns: list[Array], rows: Codes) -> MixedModel:
    kept = {name: coded(code[rows]) for name, code in codes.items()}
    design = design_of(kept)
    terms: list[tuple[str, ...]] = [("candidate",)]
    if kept["station"].max():  # one station is no more than the mean
        terms.append(("station",))
    if not within(kept["station"], kept["examiner"]):
        terms.append(design.closure(["examiner"]))
    return reml(
        y[rows], kept, design=design, terms=terms, fixed=np.stack([np.ones(len(rows)), *columns], axis=1)
    )


def _slope(model: MixedModel, candidate: Codes) -> Slope:
    """Return a slope; candidates come in an order, so that their number gives the degrees of freedom of p."""
    slope, se = float(model.fixed[1]), float(model.fixed_se[1])
    df = max(len(np.unique(candidate)) - len(model.fixed), 1)
    return Slope(slope=slope, se=se, p=float(2 * scipy.stats.t.sf(abs(slope / se), df)))


def _own(residual: Array, late: Array, examiner: Codes, common: Slope) -> tuple[Array, Array, Array]:
    """Return slope, error and p of each examiner by least squares about the common slope."""
    n = np.bincount(examiner)
    across = np.bincount(examiner, weights=late**2)
    centred = _centred(residual, examiner)
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = np.bincount(examiner, weights=late * centred) / across
        left = np.bincount(examiner, weights=(centred - slope[examiner] * late) ** 2) / (n - 2)
        se = np.sqrt(left / across + common.se**2)
        enough = (n >= _FEWEST) & (across > 0)
        p = 2 * scipy.stats.t.sf(np.abs(slope / se), n - 2)
    return tuple(np.where(enough, each, np.nan) for each in (slope, se, p))  # type: ignore[return-value]


def _previous(y: Array, codes: dict[str, Codes], when: Array) -> tuple[Codes, Array]:
    """Return observations that follow one of the same examiner, and how good that one is elsewhere."""
    candidate, station, examiner = codes.values()
    deviation = y - (np.bincount(station, weights=y) / np.bincount(station))[station]
    total, n = np.bincount(candidate, weights=deviation), np.bincount(candidate)
    with np.errstate(invalid="ignore", divide="ignore"):
        elsewhere = (total[candidate] - deviation) / (n[candidate] - 1)
    order = np.lexsort((when, examiner))
    second, first = order[1:], order[:-1]
    true = (
        (examiner[second] == examiner[first]) & (when[second] > when[first]) & np.isfinite(elsewhere[first])
    )
    return second[true], elsewhere[first][true]


def _centred(values: Array, group: Codes) -> Array:
    centred: Array = values - (np.bincount(group, weights=values) / np.bincount(group))[group]
    return centred


def _holm(p: Array) -> Array:
    found = np.full(len(p), np.nan)
    known = np.flatnonzero(np.isfinite(p))
    order = known[np.argsort(p[known])]
    steps = p[order] * (len(order) - np.arange(len(order)))
    found[order] = np.minimum(np.maximum.accumulate(steps), 1.0) if len(order) else steps
    return found
