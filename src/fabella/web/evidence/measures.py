"""Norms and errors of a measurement, and the bounds between the levels of a measured sign."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.evidence import Edition, LoHi, MeasurementError, Norm
from fabella.evidence.plain import percents, with_unit
from fabella.protocol import Protocol, Sign
from fabella.stats.written import spaced
from fabella.web.evidence.rests import Rests, rests_of_published, told
from fabella.workup import tables_used


@dataclass(frozen=True, slots=True, kw_only=True)
class NormRow:
    """One norm: of whom, its mean, its ends and what they may do, and what it rests on."""

    name: str
    whom: str
    mean: str
    ends: str
    meaning: str
    judges: bool
    rests: Rests


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorRow:
    """One published error of measuring: with what, between whom, which figure, and what it rests on."""

    method: str
    comparison: str
    figure: str
    meaning: str
    rests: Rests


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """What one kind of bound between levels rests on."""

    about: str
    rests: Rests


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """The tables that a measured sign is held against, as measure ids with names; and its bounds."""

    norms: tuple[tuple[str, str], ...]
    errors: tuple[tuple[str, str], ...]
    own_error: tuple[str, Rests] | None
    bounds: tuple[Bound, ...]


def measured_by(edition: Edition, sign: Sign) -> Measured:
    """Return what a measurement of a sign is held against."""
    used = tables_used(sign.id)
    unit = sign.scale.measure.unit.value if sign.scale.measure else ""
    own = used.own_error
    return Measured(
        norms=tuple((each, measure_name(edition, each)) for each in used.norms),
        errors=tuple((each, measure_name(edition, each)) for each in used.errors),
        own_error=None
        if own is None
        else (f"standard error {with_unit(f'{own.value:g}', unit)}, {own.method}", told(own.source)),
        bounds=tuple(Bound(about=about, rests=told(source)) for about, source in used.bounds),
    )


def measure_name(edition: Edition, measure: str) -> str:
    """Return the name of a measure, its id in words where no table names it."""
    return next((percents(row.name) for row in edition.norms if row.measure_id == measure), spaced(measure))


def norm_rows(edition: Edition, measure: str) -> tuple[NormRow, ...]:
    """Return every norm of a measure."""
    return tuple(_norm(edition, row) for row in edition.norms if row.measure_id == measure)


def error_rows(edition: Edition, measure: str) -> tuple[ErrorRow, ...]:
    """Return every published error of a measure."""
    return tuple(_error(edition, row) for row in edition.measurement_error_of(measure))


def held_against(protocol: Protocol, measure: str) -> tuple[Sign, ...]:
    """Return the signs whose measurements are held against a measure."""
    return tuple(
        sign
        for sign in protocol.signs
        if sign.has_measure and measure in (*tables_used(sign.id).norms, *tables_used(sign.id).errors)
    )


_ENDS = {
    LoHi.CI95_MEAN: "95% interval of the mean: judges no single patient",
    LoHi.REF_RANGE: "reference range",
    LoHi.REF_RANGE_PROPOSED: "reference range as proposed",
    LoHi.PM2SD_COMPUTED: "mean ± 2 SD, worked out here",
    LoHi.PM2SD_PUBLISHED: "mean ± 2 SD as printed",
    LoHi.PM196SD_LIMIT_RANGE: "lowest and highest of several limits: judges no single patient",
    LoHi.OBSERVED_RANGE: "lowest and highest seen: judges no single patient",
    LoHi.MEANS_RANGE: "range of means: judges no single patient",
    LoHi.APPROX_MEAN_RANGE: "range of means, about: judges no single patient",
    LoHi.LOA95: "where 95% of healthy people lie",
    LoHi.CLASSIFICATION_BOUNDS: "bounds of a class",
    LoHi.TEXTBOOK_RANGE: "textbook range",
    LoHi.FUNCTIONAL_MINIMUM: "what a task needs: judges no single patient",
    LoHi.NONE: "",
}


def _norm(edition: Edition, row: Norm) -> NormRow:
    sex = "" if row.sex == "both" else str(row.sex)
    people = f"n = {row.n}" if row.n else ""
    spread = f" (SD {row.sd:g})" if row.sd is not None else ""
    ends = [f"{each:g}" if each is not None else "…" for each in (row.low, row.high)]
    return NormRow(
        name=percents(row.name),
        whom=", ".join(filter(None, (row.age_band, sex, people))),
        mean="" if row.mean is None else with_unit(f"{row.mean:g}", row.unit) + spread,
        ends="" if row.lohi is LoHi.NONE else with_unit(f"{ends[0]} to {ends[1]}", row.unit),
        meaning=_ENDS[row.lohi],
        judges=row.cutoff is not None,
        rests=rests_of_published(edition, row, row.notes),
    )


_BETWEEN = {"inter": "between examiners", "intra": "by one examiner", "retest": "at another time"}


def _error(edition: Edition, row: MeasurementError) -> ErrorRow:
    level = row.change_level
    return ErrorRow(
        method=row.method,
        comparison=_BETWEEN.get(row.comparison, spaced(row.comparison)),
        figure=f"{spaced(row.statistic)}{f' ({row.end})' if row.end else ''}"
        f"{'' if row.value is None else ' ' + with_unit(f'{row.value:g}', row.unit)}",
        meaning=f"a larger change is real with {level:.0%} confidence" if level else "",
        rests=rests_of_published(edition, row, row.notes),
    )
