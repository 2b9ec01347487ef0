"""Which norm holds for a person, and whether it may judge one: the interval of a mean never may."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.evidence import Edition, LoHi, Norm, StudySex
from fabella.grade.result import NormUsed, Why
from fabella.grade.thresholds import NormRule, Reading, Start, Worse
from fabella.record import Patient

LIMIT_SD = 2.0
"""Healthy people are taken to reach 2 SD to either side of their mean, as most tables of norms do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The norm that holds for a person, or why there is none that may judge."""

    norm: NormUsed | None
    why: Why | None


def choose_norm(
    measures: Sequence[str],
    *,
    edition: Edition,
    patient: Patient,
    first: Sequence[str] = (),
    factor: float = 1.0,
) -> Choice:
    """Return the norm of the first measure that has one for this person's age and sex.

    Norms that may judge one patient go before those that may not, then the sources in ``first``, then the
    order of the edition (own sex, narrow age band, read before recalled). ``factor`` brings values into the
    unit of the sign. Without an age no norm is chosen: norms of knees differ most by age.
    """
    if patient.age_years is None:
        return Choice(norm=None, why=Why.AGE_UNKNOWN)
    sex = None if patient.sex is None else StudySex(patient.sex.value)
    for measure in measures:
        rows = edition.norms_of(measure, age_years=patient.age_years, sex=sex)
        used = sorted(
            (use_norm(row, factor=factor) for row in rows),
            key=lambda norm: (not norm.may_cut, norm.row.source.key not in first),
        )
        if used:
            return Choice(norm=used[0], why=None if used[0].may_cut else _why_not(used[0].row))
    return Choice(norm=None, why=Why.NO_NORM)


def use_norm(row: Norm, *, factor: float = 1.0) -> NormUsed:
    """Return a norm with the limits that may judge one patient: its own, else mean -/+ 2 SD, else none."""
    computed = row.cutoff is None and row.mean is not None and row.sd is not None
    low, high = row.cutoff or (None, None)
    if row.cutoff is None and row.mean is not None and row.sd is not None:
        low, high = row.mean - LIMIT_SD * row.sd, row.mean + LIMIT_SD * row.sd
    return NormUsed(
        row=row,
        mean=_times(row.mean, factor),
        low=_times(low, factor),
        high=_times(high, factor),
        may_cut=low is not None or high is not None,
        computed=computed,
    )


def near_a_limit(norm: NormUsed, value: float, *, worse: Worse) -> bool:
    """Say whether a value within the limits lies nearer to a limit on the worse side than to the middle."""
    if norm.low is None or norm.high is None:
        return False
    middle = (norm.low + norm.high) / 2
    half_way = (norm.high - norm.low) / 4
    off = {Worse.LOWER: middle - value, Worse.HIGHER: value - middle, Worse.AWAY: abs(value - middle)}[worse]
    return off > half_way


def norm_badness(
    norm: NormUsed, value: float, *, reading: Reading, rule: NormRule, levels: int
) -> tuple[float, tuple[Start, ...]] | None:
    """Return how far a value lies from the norm's middle in the worse way, and where the levels begin.

    The first level begins beyond the norm's limit; further ones as many SD further out as the rule says, or
    never. None when the norm has no limit on that side.
    """
    spread = _spread(norm)
    upward = reading.worse is Worse.HIGHER or (reading.worse is Worse.AWAY and value >= _middle(norm))
    limit = norm.high if upward else norm.low
    if limit is None:
        return None
    middle = _middle(norm)
    steps = (rule.starts_sd or (LIMIT_SD,))[: levels - 1]
    begins = [abs(limit - middle) + (step - LIMIT_SD) * spread for step in steps]
    begins += [float("inf")] * (levels - 1 - len(begins))
    badness = value - middle if upward else middle - value
    return badness, tuple(Start(at=at, strict=True) for at in begins)


def _middle(norm: NormUsed) -> float:
    if norm.low is not None and norm.high is not None:
        return (norm.low + norm.high) / 2
    ends = [each for each in (norm.mean, norm.low, norm.high) if each is not None]
    return ends[0]


def _spread(norm: NormUsed) -> float:
    """Return one SD: a quarter of the width of the limits, which are taken as 2 SD to either side."""
    return 0.0 if norm.low is None or norm.high is None else (norm.high - norm.low) / (2 * LIMIT_SD)


def _why_not(row: Norm) -> Why:
    return Why.NORM_IS_INTERVAL_OF_MEAN if row.lohi is LoHi.CI95_MEAN else Why.NORM_HAS_NO_LIMITS


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else round(value * factor, 9)
