"""How many stations, how many examiners: dependability over numbers that might be had.

Source: Brennan 2001 Generalizability Theory, chapter 4 (from memory). The number needed follows from the
error being a part that shrinks with the number and a part that stays.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import ceil
from typing import Literal

from fabella.assess.components import Components
from fabella.assess.dstudy import Dependability, project
from fabella.assess.gstudy_design import Design
from fabella.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """How dependable an exam is for one number of levels of a facet [-]."""

    count: int
    dependability: Dependability


def curve(
    components: Components,
    *,
    design: Design,
    facet: str,
    numbers: Iterable[int],
    counts: Mapping[str, float],
    fixed: Iterable[str] = (),
) -> tuple[CurvePoint, ...]:
    """Return the dependability for several numbers of one facet, others as in `counts`."""
    fixed = tuple(fixed)
    return tuple(
        CurvePoint(
            count=number,
            dependability=project(components, design=design, counts={**counts, facet: number}, fixed=fixed),
        )
        for number in numbers
    )


def needed(
    components: Components,
    *,
    design: Design,
    facet: str,
    target: float,
    counts: Mapping[str, float],
    coefficient: Literal["g", "phi"] = "phi",
) -> int | None:
    """Return the least number of levels of a facet for which the coefficient reaches a target.

    Parameters
    ----------
    components, design
        As in `project`.
    facet
        The facet asked about, for instance the stations.
    target
        Wanted coefficient [-], between 0 and 1.
    counts
        Numbers of the other facets.
    coefficient
        "phi" for decisions against a pass mark, "g" for ranking.

    Returns
    -------
    int or None
        None when no number reaches the target, because an error remains that this facet does not average.
    """
    if not 0 < target < 1:
        remedy = "use a share between 0 and 1, such as 0.8"
        raise InputError.of(place="target", value=str(target), says="is out of range", remedy=remedy)

    def errors(number: float) -> float:
        found = project(components, design=design, counts={**counts, facet: number})
        return found.relative if coefficient == "g" else found.absolute

    # Error is a + b/n, so two numbers tell both parts.
    shrinking = 2 * (errors(1) - errors(2))
    staying = errors(1) - shrinking
    room = project(components, design=design, counts={**counts, facet: 1}).true * (1 - target) / target
    if room <= staying:
        return None
    return max(1, ceil(shrinking / (room - staying) - 1e-9))
