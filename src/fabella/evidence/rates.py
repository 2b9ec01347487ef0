"""From rows to how common a lesion is, and how it is shared among its levels, by age where that matters."""

from __future__ import annotations

from typing import Any

from fabella.errors import suggestion
from fabella.evidence.facts import BaseRate, LevelShares, ReplacedRate, WomenToMen
from fabella.evidence.operated import AfterOperation, MendedRate
from fabella.evidence.source import Footing

RATE_COLUMNS = (
    "acute_emergency",
    "acute_primary_care",
    "acute_clinic",
    "chronic_primary_care",
    "chronic_clinic",
    "background",
)
AGE_BANDS = ("0_4", "5_9", "10_17", "18_29", "30_39", "40_59", "60")
"""Bands of age in years, the last open: those of `BaseRate.odds_by_age`."""
ODDS_FEMALE = "odds_female"
ODDS_OF_BANDS = tuple(f"odds_{band}" for band in AGE_BANDS)
"""Columns of the odds by age; that of the reference band is 1 and no column of the table."""
_REFERENCE = "odds_30_39"
_RESTING = (*RATE_COLUMNS, *(each for each in ODDS_OF_BANDS if each != _REFERENCE), ODDS_FEMALE)


def probability(text: str) -> float:
    """Return a number from 0 to 1; raise `ValueError` for any other."""
    value = float(text)
    if not 0 <= value <= 1:
        raise ValueError(f"{text} is not a probability")
    return value


def _shares(text: str) -> tuple[float, ...]:
    return tuple(probability(part) for part in text.split())


def base_rate(row: dict[str, str], rests: dict[str, Any]) -> BaseRate:
    """Return what a row of ``prevalence.csv`` states; those aged 30 to 39 are the reference of its odds."""
    odds = ("1" if column == _REFERENCE else row[column] for column in ODDS_OF_BANDS)
    return BaseRate(
        lesion=row["lesion"],
        rates={column: probability(row[column]) for column in RATE_COLUMNS},
        odds_by_age=tuple(float(text) for text in odds),
        odds_female=float(row[ODDS_FEMALE]),
        split_acute=_shares(row["split_acute"]),
        split_chronic=_shares(row["split_chronic"]),
        **rests,
    )


def rate_footing(row: dict[str, str], rests: dict[str, Any]) -> tuple[str, str, Footing]:
    """Return lesion, column and footing of a row of ``prevalence_rests.csv``."""
    return row["lesion"], _column(row, _RESTING), Footing(**rests)


def replaced_rate(row: dict[str, str], rests: dict[str, Any]) -> tuple[str, str, ReplacedRate]:
    """Return lesion, column and rate of a row of ``prevalence_replaced.csv``."""
    return row["lesion"], _column(row, RATE_COLUMNS), ReplacedRate(rate=probability(row["rate"]), **rests)


def after_operation(row: dict[str, str], rests: dict[str, Any]) -> tuple[str, AfterOperation]:
    """Return lesion and change of the odds of a row of ``after_operation.csv``."""
    odds = float(row["odds"])
    if odds <= 0:
        raise ValueError(f"{row['odds']} multiplies no odds")
    weeks = int(row["within_weeks"]) if row["within_weeks"] else None
    return row["lesion"], AfterOperation(odds=odds, within_weeks=weeks, **rests)


def mended(row: dict[str, str], rests: dict[str, Any]) -> tuple[str, str, MendedRate]:
    """Return lesion, operation and rate of a row of ``mended.csv``."""
    return row["lesion"], row["procedure"], MendedRate(rate=probability(row["rate"]), **rests)


def _column(row: dict[str, str], known: tuple[str, ...]) -> str:
    if row["column"] not in known:
        raise ValueError(f"no rate '{row['column']}'; {suggestion(row['column'], known)}")
    return row["column"]


def women_to_men(row: dict[str, str], rests: dict[str, Any]) -> tuple[str, int, WomenToMen]:
    """Return lesion, position of the age band and odds of a row of ``odds_by_sex.csv``."""
    odds = float(row[ODDS_FEMALE])
    if odds <= 0:
        raise ValueError(f"{row[ODDS_FEMALE]} are no odds")
    return row["lesion"], _age_band(row), WomenToMen(odds_female=odds, **rests)


def level_shares(row: dict[str, str], rests: dict[str, Any]) -> tuple[str, int, LevelShares]:
    """Return lesion, position of the age band and shares of a row of ``level_shares.csv``."""
    shares = LevelShares(acute=_shares(row["acute"]), chronic=_shares(row["chronic"]), **rests)
    return row["lesion"], _age_band(row), shares


def _age_band(row: dict[str, str]) -> int:
    if row["age_band"] not in AGE_BANDS:
        raise ValueError(f"no age band '{row['age_band']}'; {suggestion(row['age_band'], AGE_BANDS)}")
    return AGE_BANDS.index(row["age_band"])
