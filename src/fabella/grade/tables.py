"""Which tables a measurement is held against, and what its bounds rest on."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.grade.thresholds import OwnSem, load_thresholds


@dataclass(frozen=True, slots=True, kw_only=True)
class TablesUsed:
    """The tables behind the reading of one measurement.

    Parameters
    ----------
    norms, errors
        Measures of the tables of norms and of measurement error, the best fitting first.
    scale
        Published bands of the side difference; empty when there are none.
    bounds
        What each kind of bound between levels, and each error that no table has, is about and rests on.
    own_error
        Error of one reading where no table has one; None when a table has.
    """

    norms: tuple[str, ...]
    errors: tuple[str, ...]
    scale: str
    bounds: tuple[tuple[str, str], ...]
    own_error: OwnSem | None


LIMITS_ARE_2SD = "judgement: beyond the limits of healthy people"
"""How a norm without a rule of its own is used."""

NO_TABLES = TablesUsed(norms=(), errors=(), scale="", bounds=(), own_error=None)


def tables_used(sign: str) -> TablesUsed:
    """Return the tables a sign is held against; none for a sign that is not measured."""
    reading = load_thresholds().readings.get(sign)
    if reading is None:
        return NO_TABLES
    side, own, norm = reading.side, reading.alone, reading.norm
    bounds = (
        ("difference between the knees", side.source if side else ""),
        ("difference that healthy people have", side.healthy_source if side else ""),
        ("value of one knee", own.source if own else ""),
        ("norm for age and sex", (norm.source or LIMITS_ARE_2SD) if norm else ""),
        *((f"error of a {each.method}", each.source) for each in reading.sems),
    )
    return TablesUsed(
        norms=(*(norm.measures if norm else ()), *(side.norms if side else ())),
        errors=reading.errors,
        scale=reading.scale,
        bounds=tuple((about, source) for about, source in bounds if source),
        own_error=reading.sem,
    )
