"""What a many-facet Rasch analysis returns: measures of candidates and facets, thresholds, what to know."""

from dataclasses import dataclass

from fabella.assess.facets_fit import Fit, Separation, separation
from fabella.assess.gstudy_design import Array
from fabella.errors import InputError, suggestion


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measures:
    """Measures of the candidates or of one facet, in ascending order of their codes.

    Parameters
    ----------
    name
        Of the facet.
    estimate, se
        Ability, difficulty or severity and its standard error [logit]. Abilities are posterior means; their
        errors hold those of facets and thresholds too.
    fit
        Infit and outfit.
    fair
        Of a candidate, the mark expected from an average examiner at an average station; of a level of a
        facet, the mark an average candidate may expect there [mark].
    """

    name: str
    estimate: Array
    se: Array
    fit: Fit
    fair: Array

    @property
    def separation(self) -> Separation:
        """Return how well the measures tell their bearers apart."""
        return separation(self.estimate, self.se)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RaschFit:
    """A fitted many-facet Rasch model.

    Parameters
    ----------
    candidates, facets
        Their measures. Levels of a facet sum to 0, over all or within another facet.
    weighted, weighted_se
        Ability of each candidate by weighted likelihood and its standard error [logit]: not drawn to the
        mean, as posterior means are.
    thresholds
        Of each scale [logit], shape (scales, thresholds); they sum to 0.
    mean, spread
        Of the abilities of the population [logit].
    reliability
        Of the candidates' measures [-].
    deviance
        -2 log marginal likelihood [-].
    warnings
        What a reader must know.
    """

    candidates: Measures
    facets: tuple[Measures, ...]
    weighted: Array
    weighted_se: Array
    thresholds: Array
    mean: float
    spread: float
    reliability: float
    deviance: float
    warnings: tuple[str, ...]

    def of(self, name: str) -> Measures:
        """Return the measures of this facet."""
        by_name = {each.name: each for each in (self.candidates, *self.facets)}
        if name not in by_name:
            remedy = suggestion(name, by_name)
            raise InputError.of(place="facet", value=name, says="was not analysed", remedy=remedy)
        return by_name[name]
