"""Which measurement error a reading is held against; a high intraclass correlation is none."""

from __future__ import annotations

from collections.abc import Iterable

from fabella.evidence import Edition, ErrorStatistic, MeasurementError, Provenance
from fabella.grade.result import ErrorUsed
from fabella.grade.thresholds import OwnSem, Reading, Thresholds
from fabella.stats import LimitsOfAgreement, mdc, sem_from_mdc

LEVEL = 0.95
"""Confidence with which a difference must exceed the error, wherever the source leaves a choice."""

_MIRRORED = ", mirrored"  # a mirror image of a limb is measured as surely as the limb
_COMPARISONS = ("intra", "retest", "inter")  # both sides are read by one examiner in one session
_STATISTICS = (
    ErrorStatistic.MDC95,
    ErrorStatistic.MSD,
    ErrorStatistic.SRD95,
    ErrorStatistic.SDD,
    ErrorStatistic.SEM,
    ErrorStatistic.LOA,
    ErrorStatistic.MDC90,
)


def error_of(
    reading: Reading, *, method: str | None, unit: str, edition: Edition, thresholds: Thresholds
) -> ErrorUsed | None:
    """Return the error of a reading taken by a method, the best fitting that is known.

    Tables go in the order of the rule; within one, the same examiner before a retest before another examiner,
    then the best fitting method, then a 95 % detectable change before a standard error (from which it is
    worked out) before a 90 % one, which is kept as such. Of a published range the larger end counts.
    A method that is not stated, or not in the tables, is taken as the usual one, and marked so.
    """
    stated = None if method is None else _names(method, thresholds)
    usual = _names(reading.method, thresholds) if reading.method else ()
    if stated and (row := _best(reading, stated, unit=unit, edition=edition)):
        return _used(row, edition=edition, assumed=False)
    if method is not None and (own := _own_of(reading, method)):
        return _own(own, assumed=False)
    if reading.sem is not None:
        return _own(reading.sem, assumed=method != reading.sem.method)
    if row := _best(reading, usual, unit=unit, edition=edition):
        return _used(row, edition=edition, assumed=True)
    return None


def _names(method: str, thresholds: Thresholds) -> tuple[str, ...]:
    word = _word(method)
    return thresholds.methods.get(word, (word,))


def _own_of(reading: Reading, method: str) -> OwnSem | None:
    word = _word(method).removesuffix(_MIRRORED)
    return next((each for each in reading.sems if each.method == word), None)


def _word(method: str) -> str:
    return " ".join(method.casefold().split())


def _best(
    reading: Reading, methods: tuple[str, ...], *, unit: str, edition: Edition
) -> MeasurementError | None:
    for measure in reading.errors:
        rows = [
            row
            for row in edition.measurement_error_of(measure)
            if row.statistic in _STATISTICS
            and row.method in methods
            and row.comparison in _COMPARISONS
            and row.value is not None
            and row.unit == unit
        ]
        if rows:
            return min(
                rows,
                key=lambda row: (
                    _COMPARISONS.index(row.comparison),
                    methods.index(row.method),
                    _STATISTICS.index(row.statistic),
                    row.end == "low",
                ),
            )
    return None


def _used(row: MeasurementError, *, edition: Edition, assumed: bool) -> ErrorUsed:
    value = row.value if row.value is not None else 0.0
    level = row.change_level
    if level is not None:
        sem, detectable, computed = sem_from_mdc(mdc=value, level=level), value, False
    else:
        sem = value if row.statistic is ErrorStatistic.SEM else _from_limits(row, edition)
        level, computed = LEVEL, True
        detectable = mdc(sem=sem, level=level)
    return ErrorUsed(
        sem=sem,
        detectable=detectable,
        level=level,
        statistic=row.statistic.value,
        method=row.method,
        computed=computed,
        assumed=assumed,
        provenance=Provenance.DERIVED if computed else row.provenance,
        source=row.source.short,
        row=row,
    )


def _from_limits(row: MeasurementError, edition: Edition) -> float:
    """Return the standard error behind limits of agreement, whose two ends are two rows of one source."""
    ends = _ends(
        edition.measurement_error_of(row.measure_id, method=row.method, statistic=row.statistic), row
    )
    return LimitsOfAgreement(low=min(ends), high=max(ends)).sem


def _ends(rows: Iterable[MeasurementError], like: MeasurementError) -> list[float]:
    return [
        row.value
        for row in rows
        if row.value is not None and (row.source, row.comparison) == (like.source, like.comparison)
    ]


def _own(own: OwnSem, *, assumed: bool) -> ErrorUsed:
    return ErrorUsed(
        sem=own.value,
        detectable=mdc(sem=own.value, level=LEVEL),
        level=LEVEL,
        statistic=ErrorStatistic.SEM.value,
        method=own.method,
        computed=True,
        assumed=assumed,
        provenance=Provenance.JUDGEMENT if own.source.startswith("judgement") else Provenance.DERIVED,
        source=own.source,
        row=None,
    )
