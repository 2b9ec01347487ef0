"""What the model of the knee is built from: causes, indicators, prevalence, as frozen tables.

The tables stand in ``editions/<edition>/model``; each row says what it rests on. Nothing here computes.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import pairwise
from typing import TypeAlias, TypeVar

from fabella.errors import EvidenceError
from fabella.evidence.source import Provenance

LEAK = "leak"
LATEST_FOLDER = "2026_1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """A lesion, a conjunction of lesions, or the leak, and how surely it brings a manifestation about.

    ``parts`` are (lesion, level or "" for any level); the leak has none. ``at_least`` is the chance (0..1)
    that this cause alone brings at least level 1, 2, … about. ``acuity`` is "acute", "chronic" or "" for
    always. ``strength`` is the number of imagined knees the chance is worth.
    """

    manifestation: str
    acuity: str
    parts: tuple[tuple[str, str], ...]
    at_least: tuple[float, ...]
    strength: float
    provenance: Provenance
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Indicator:
    """How a sign shows one or more manifestations, each with a weight (0..1).

    A manifestation at ``from_level`` or above shows with chance ``hit``; below it with ``partial`` times
    that; ``false_alarm`` is the chance that the sign is called with nothing to show; ``guard_loss`` the share
    of ``hit`` that a guarding muscle hides.
    """

    sign: str
    manifestations: tuple[tuple[str, float], ...]
    from_level: int
    partial: float
    hit: float
    false_alarm: float
    guard_loss: float
    strength: float
    provenance: Provenance
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AccuracyUsed:
    """Published sensitivity and specificity to which an indicator is fitted.

    ``targets``: any of these lesions present counts as diseased; ``reference``: the population it is fitted
    in; ``setting``: only used there ("" anywhere). Bounds are of a 95 % interval and None when none was
    printed.
    """

    sign: str
    setting: str
    targets: tuple[str, ...]
    reference: str
    sensitivity: float
    sensitivity_bounds: tuple[float, float] | None
    specificity: float
    specificity_bounds: tuple[float, float] | None
    n: int | None
    provenance: Provenance
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseRate:
    """How common a lesion is among knees examined in each kind of clinic.

    The reference are patients of both sexes aged 30 to 39;
    ``odds_by_age`` multiplies the odds in the bands 0-9, 10-17, 18-29, 30-39, 40-59, 60+; ``odds_female`` those of
    women against men; ``splits`` share the lesion among its levels, acute and chronic.
    """

    lesion: str
    rates: Mapping[str, float]
    odds_by_age: tuple[float, ...]
    odds_female: float
    split_acute: tuple[float, ...]
    split_chronic: tuple[float, ...]
    provenance: Provenance
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Company:
    """How one lesion keeps company with another in a reference population.

    ``measure`` is "probability" (of ``also`` given ``given``, 0..1) or "odds_ratio" (above 0), ``value`` its
    value.
    """

    given: str
    also: str
    measure: str
    value: float
    reference: str
    provenance: Provenance
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Image:
    """How well an image or a laboratory procedure shows one lesion, and the minutes it takes."""

    image: str
    name: str
    minutes: float
    lesion: str
    sensitivity: float
    specificity: float
    provenance: Provenance
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Knowledge:
    """Everything the model is compiled from."""

    manifestations: Mapping[str, int]
    causes: tuple[Cause, ...]
    indicators: Mapping[str, Indicator]
    accuracy: tuple[AccuracyUsed, ...]
    base_rates: Mapping[str, BaseRate]
    mechanisms: Mapping[str, Mapping[str, float]]
    company: tuple[Company, ...]
    images: tuple[Image, ...]


RATE_COLUMNS = (
    "acute_emergency",
    "acute_primary_care",
    "acute_clinic",
    "chronic_primary_care",
    "chronic_clinic",
    "background",
)

Row: TypeAlias = dict[str, str]
_T = TypeVar("_T")


@cache
def load_knowledge(folder: str = LATEST_FOLDER) -> Knowledge:
    """Read the model tables of one edition; raise `EvidenceError` naming file and line of every bad row."""
    problems: list[str] = []

    def read(name: str, make: Callable[[Row], _T]) -> list[_T]:
        table = files("fabella.evidence").joinpath("editions", folder, "model", f"{name}.csv")
        made = []
        for number, row in enumerate(csv.DictReader(table.read_text("utf-8").splitlines()), start=2):
            try:
                made.append(make(row))
            except (KeyError, ValueError) as error:
                problems.append(f"model/{name}.csv line {number}: {error}")
        return made

    knowledge = Knowledge(
        manifestations=dict(read("manifestations", lambda row: (row["manifestation"], int(row["levels"])))),
        causes=tuple(read("causes", _cause)),
        indicators={item.sign: item for item in read("indicators", _indicator)},
        accuracy=tuple(read("accuracy_used", _accuracy)),
        base_rates={item.lesion: item for item in read("prevalence", _base_rate)},
        mechanisms=dict(read("mechanisms", _mechanism)),
        company=tuple(read("pairs", _company)),
        images=tuple(read("images", _image)),
    )
    if problems:
        raise EvidenceError("; ".join(problems))
    return knowledge


def _probability(text: str) -> float:
    value = float(text)
    if not 0 <= value <= 1:
        raise ValueError(f"{text} is not a probability")
    return value


def _cause(row: Row) -> Cause:
    columns = ("at_least_1", "at_least_2", "at_least_3")
    at_least = tuple(_probability(row[column]) for column in columns if row[column])
    if any(higher > lower for lower, higher in pairwise(at_least)):
        raise ValueError("a higher level may not be surer than a lower one")
    parts = () if row["cause"] == LEAK else tuple(_part(part) for part in row["cause"].split("+"))
    return Cause(
        manifestation=row["manifestation"],
        acuity=row["acuity"],
        parts=parts,
        at_least=at_least,
        strength=float(row["strength"]),
        provenance=Provenance(row["provenance"]),
        source=row["source"],
    )


def _part(text: str) -> tuple[str, str]:
    lesion, _, level = text.partition(":")
    return lesion, level


def _weighted(text: str) -> tuple[str, float]:
    manifestation, _, weight = text.partition(":")
    return manifestation, float(weight) if weight else 1.0


def _indicator(row: Row) -> Indicator:
    return Indicator(
        sign=row["sign"],
        manifestations=tuple(_weighted(part) for part in row["manifestations"].split("+")),
        from_level=int(row["from_level"]),
        partial=_probability(row["partial"]) if row["partial"] else 0.0,
        hit=_probability(row["hit"]),
        false_alarm=_probability(row["false_alarm"]),
        guard_loss=_probability(row["guard_loss"]),
        strength=float(row["strength"]),
        provenance=Provenance(row["provenance"]),
        source=row["source"],
    )


def _bounds(low: str, high: str) -> tuple[float, float] | None:
    return (_probability(low), _probability(high)) if low and high else None


def _accuracy(row: Row) -> AccuracyUsed:
    return AccuracyUsed(
        sign=row["sign"],
        setting=row["setting"],
        targets=tuple(row["targets"].split("+")),
        reference=row["reference"],
        sensitivity=_probability(row["sensitivity"]),
        sensitivity_bounds=_bounds(row["sensitivity_low"], row["sensitivity_high"]),
        specificity=_probability(row["specificity"]),
        specificity_bounds=_bounds(row["specificity_low"], row["specificity_high"]),
        n=int(row["n"]) if row["n"] else None,
        provenance=Provenance(row["provenance"]),
        source=row["source"],
    )


def _base_rate(row: Row) -> BaseRate:
    odds = (
        row["odds_0_9"],
        row["odds_10_17"],
        row["odds_18_29"],
        "1",
        row["odds_40_59"],
        row["odds_60"],
    )
    return BaseRate(
        lesion=row["lesion"],
        rates={column: _probability(row[column]) for column in RATE_COLUMNS},
        odds_by_age=tuple(float(text) for text in odds),
        odds_female=float(row["odds_female"]),
        split_acute=tuple(_probability(text) for text in row["split_acute"].split()),
        split_chronic=tuple(_probability(text) for text in row["split_chronic"].split()),
        provenance=Provenance(row["provenance"]),
        source=row["source"],
    )


def _mechanism(row: Row) -> tuple[str, dict[str, float]]:
    plain = {"lesion", "provenance", "source"}
    return row["lesion"], {name: _probability(text) for name, text in row.items() if name not in plain}


def _company(row: Row) -> Company:
    return Company(
        given=row["given"],
        also=row["also"],
        measure=row["measure"],
        value=_probability(row["value"]) if row["measure"] == "probability" else float(row["value"]),
        reference=row["reference"],
        provenance=Provenance(row["provenance"]),
        source=row["source"],
    )


def _image(row: Row) -> Image:
    return Image(
        image=row["image"],
        name=row["name"],
        minutes=float(row["minutes"]),
        lesion=row["lesion"],
        sensitivity=_probability(row["sensitivity"]),
        specificity=_probability(row["specificity"]),
        provenance=Provenance(row["provenance"]),
        source=row["source"],
    )
