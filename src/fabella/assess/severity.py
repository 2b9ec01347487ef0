"""How severe each examiner is.

Severity is read from a mixed model of station scores: candidate, station and examiner as random effects, the
examiner's prediction turned round so that severe is above 0. Predictions are drawn to 0 the more, the less an
examiner has marked; their errors say so. A difference between circuits is read as examiners' only as far as
candidates were allotted at random.

Sources: Robinson 1991 Stat Sci 6:15 (prediction; from memory); Homer 2022 Adv Health Sci Educ, doi
10.1007/s10459-022-10096-9 (stringency from a mixed model, scores modelled on grades).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fabella.assess.components import Components
from fabella.assess.facets_linked import grouped_names, linked_groups, sharing_groups
from fabella.assess.facets_ratings import Ratings, contrasts
from fabella.assess.gstudy_blocks import within
from fabella.assess.gstudy_design import Array, Codes, Design, check_lengths, coded
from fabella.assess.gstudy_predict import prediction_error
from fabella.assess.gstudy_reml import MixedModel, reml
from fabella.errors import InputError
from fabella.stats.intervals import check, level_claim, normal_quantile

_FEWEST = 3  # examiners


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Severity:
    """How severe examiners are, in ascending order of their codes.

    Parameters
    ----------
    severity, se
        Marks taken off by this examiner [mark], and the prediction error, see `gstudy_predict`.
    n
        Scores given by each [-].
    components
        Variance components; the examiner's says how much examiners differ at all.
    model
        The mixed model itself.
    warnings
        What a reader must know.
    """

    severity: Array
    se: Array
    n: Codes
    components: Components
    model: MixedModel
    warnings: tuple[str, ...]

    def limits(self, level: float = 0.9) -> tuple[Array, Array]:
        """Return lower and upper limits of each severity [mark] for a level between 0 and 1."""
        check(level_claim(level))
        reach = normal_quantile(level) * self.se
        return self.severity - reach, self.severity + reach


def severity(
    score: ArrayLike,
    *,
    candidate: ArrayLike,
    station: ArrayLike,
    examiner: ArrayLike,
    grade: ArrayLike | None = None,
    names: ArrayLike | None = None,
) -> Severity:
    """Return the severity of each examiner.

    Parameters
    ----------
    score
        Station scores [mark], shape (n,); missing ones are left out.
    candidate, station, examiner
        Codes, shape (n,). Examiners may keep to a station or roam.
    grade
        Global grades [grade], shape (n,), none missing: the scores are then compared among performances
        of the same grade, each station with a slope of its own, and severity is what an examiner's marks are
        below those that others give for the same grade. None: scores alone.
    names
        Of the examiners in ascending order of their codes, for warnings; None: the codes.

    Raises
    ------
    InputError
        When the data are unusable, each station has a single examiner, whose severity then cannot be told
        from the station's difficulty, or there are two examiners in all: averaged over all variances that two
        allow, errors have no bound (Gelman 2006, from memory).
    """
    y = np.asarray(score, dtype=np.float64)
    codes = {"candidate": coded(candidate), "station": coded(station), "examiner": coded(examiner)}
    check_lengths(y, codes)
    if within(codes["station"], codes["examiner"]):
        says = "have one examiner each, so that severity cannot be told from difficulty"
        remedy = "let several examiners share a station"
        raise InputError.of(place="stations", says=says, remedy=remedy)
    if codes["examiner"].max() < _FEWEST - 1:
        says, remedy = "are two only, which tells nothing of how far examiners differ", "three are needed"
        raise InputError.of(place="examiners", says=says, remedy=remedy)
    design = design_of(codes)
    terms = [("candidate",), design.closure(["examiner"])]
    if grade is None:
        stations = [("station",)] if codes["station"].max() else []  # one station is no more than the mean
        model = reml(y, codes, design=design, terms=[terms[0], *stations, terms[1]])
    else:
        columns = _by_grade(np.asarray(grade, dtype=np.float64), codes["station"], len(y))
        model = reml(y, codes, design=design, terms=terms, fixed=columns)
    name = design.name(terms[1])
    effects = model.of(name)
    error = prediction_error(model, name)
    warnings = list(model.components.warnings)
    if "station" in terms[1]:
        warnings.append(
            "examiners keep to one station: each is compared with the others of that station only"
        )
    if _is_parted(codes, keeps="station" in terms[1]):
        group = sharing_groups(codes["candidate"], codes["examiner"])
        called = [str(each) for each in np.asarray(np.unique(examiner) if names is None else names)]
        told = (
            f"{group.max() + 1} groups of examiners share no candidates, directly or through others "
            f"({grouped_names(group, called)})"
            if group.any()
            else "some examiners share too few candidates to be compared through them"
        )
        warnings.append(f"{told}: they are compared as if candidates had been allotted to them at random")
    return Severity(
        severity=-_by_examiner(effects.estimate, codes, terms[1]),
        se=_by_examiner(error, codes, terms[1]),
        n=np.bincount(codes["examiner"]),
        components=model.components,
        model=model,
        warnings=tuple(warnings),
    )


def design_of(codes: Mapping[str, Codes]) -> Design:
    """Return the design of candidates, stations and examiners, who keep to a station or roam."""
    keeps = within(codes["examiner"], codes["station"])
    return Design(facets=("candidate", "station", "examiner"), nests=((), (), ("station",) if keeps else ()))


def _is_parted(codes: Mapping[str, Codes], *, keeps: bool) -> bool:
    """Say whether some examiners could not be compared if candidates were not taken as alike."""
    station, examiner = codes["station"], codes["examiner"]
    home = np.zeros(int(examiner.max()) + 1, dtype=np.intp)
    if keeps:
        home[examiner] = station
    data = Ratings(
        category=np.zeros_like(station),
        candidate=codes["candidate"],
        facets=("station", "examiner"),
        codes=(station, examiner),
        scale=np.zeros_like(station),
        marks=np.array([[0.0, 1.0]]),
        closed=(),
    )
    columns = contrasts((np.zeros(int(station.max()) + 1, dtype=np.intp), home), data.tops, 1)
    return bool(linked_groups(data, columns, alike=False)["examiner"].any())


def _by_examiner(values: Array, codes: Mapping[str, Codes], term: tuple[str, ...]) -> Array:
    """Return the values in the order of examiners: cells of a nested term are in the order of stations."""
    if len(term) == 1:
        return values
    order = np.unique(codes["station"] * (int(codes["examiner"].max()) + 1) + codes["examiner"])
    found = np.empty_like(values)
    found[order % (int(codes["examiner"].max()) + 1)] = values
    return found


def _by_grade(grade: Array, station: Codes, n: int) -> Array:
    """Return an intercept and a slope on the grade for every station, without a slope where none differ."""
    if grade.shape != (n,) or not np.isfinite(grade).all():
        remedy = "leave out sheets without a grade"
        raise InputError.of(place="grade", value="some", says="are missing", remedy=remedy)
    columns = []
    for s in range(int(station.max()) + 1):
        here = station == s
        columns.append(here.astype(np.float64))
        if np.ptp(grade[here]) > 0:
            columns.append(np.where(here, grade - grade[here].mean(), 0.0))
    return np.stack(columns, axis=1)
