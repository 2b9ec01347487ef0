"""Variance components: what they are, and how those of an exam are handed over."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from fabella.assess.gstudy_design import Effect
from fabella.errors import InputError, suggestion

Method = Literal["ANOVA", "REML"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """The variance that one effect brings into a single observation.

    Parameters
    ----------
    name
        Of the effect, as `Design.name` writes it, or ``residual``.
    effect
        Its facets; of a residual that is no effect of the design, all facets.
    variance
        As estimated [mark²]; may be negative under ANOVA, and is then used as 0.
    se
        Standard error [mark²]; None where the method gives none.
    levels
        Cells of this effect in the data [-].
    """

    name: str
    effect: Effect
    variance: float
    se: float | None
    levels: int

    @property
    def used(self) -> float:
        """Return the variance, or 0 for a negative estimate."""
        return max(self.variance, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Components:
    """All variance components of an exam; the last one is the residual.

    Parameters
    ----------
    method
        ANOVA (balanced data only) or REML.
    parts
        The components.
    mean
        Grand mean [mark]: of all observations under ANOVA, as estimated under REML.
    n
        Observations used [-].
    warnings
        What a reader must know: negative estimates, effects that could not be told apart.
    """

    method: Method
    parts: tuple[Component, ...]
    mean: float
    n: int
    warnings: tuple[str, ...] = ()

    def of(self, name: str) -> Component:
        """Return the component of this name.

        Raises
        ------
        InputError
            When there is none.
        """
        by_name = {part.name: part for part in self.parts}
        if name not in by_name:
            remedy = suggestion(name, by_name)
            raise InputError.of(place="component", value=name, says="is not in this design", remedy=remedy)
        return by_name[name]

    @property
    def residual(self) -> Component:
        """Return the variance that no other effect explains, one observation's error included."""
        return self.parts[-1]

    @property
    def shares(self) -> Mapping[str, float]:
        """Return each component's share of their sum [-], negative ones counted as 0."""
        total = sum(part.used for part in self.parts)
        return {part.name: part.used / total if total else 0.0 for part in self.parts}


def negative_warnings(parts: tuple[Component, ...]) -> tuple[str, ...]:
    """Return a warning for each component estimated below 0."""
    return tuple(
        f"the variance of {part.name} is estimated below 0 ({part.variance:.4g}); 0 is used"
        for part in parts
        if part.variance < 0
    )
