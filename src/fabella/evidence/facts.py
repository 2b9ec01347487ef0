"""What the model of the knee is built from, as frozen nouns; every one of them says what it rests on.

``source`` is fit to show: the sources in short, "common practice" or a line of ours. ``keys`` are the sources
it rests on in ``sources.csv``, empty for a judgement; ``note`` says how a number was worked out of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fabella.evidence.operated import AfterOperation, Healing, MendedRate, Review
from fabella.evidence.source import Footing


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause(Footing):
    """A lesion, a conjunction of lesions, or the leak, and how surely it brings a manifestation about.

    ``parts`` are (lesion, level or "" for any level); the leak has none. With any of the lesions ``without``
    the cause is silent: another row says what it does beside them. ``at_least`` is the chance (0..1) that
    this cause alone brings at least level 1, 2, … about. ``acuity`` is "acute", "chronic" or "" for always.
    ``strength`` is the number of imagined knees the chance is worth. ``below_years``: the row takes the place
    of the same one without it in patients younger than that; of several the one of the narrowest age.
    """

    manifestation: str
    acuity: str
    parts: tuple[tuple[str, str], ...]
    at_least: tuple[float, ...]
    strength: float
    without: tuple[str, ...] = ()
    below_years: float | None = None

    @property
    def lesions(self) -> tuple[str, ...]:
        """Every lesion on which it depends whether this cause acts."""
        return (*(lesion for lesion, _ in self.parts), *self.without)


@dataclass(frozen=True, slots=True, kw_only=True)
class Indicator(Footing):
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


@dataclass(frozen=True, slots=True, kw_only=True)
class AccuracyUsed(Footing):
    """Published sensitivity and specificity to which an indicator is fitted.

    ``targets``: any of these lesions present counts as diseased; ``reference``: the population it is fitted
    in; ``setting``: only used there ("" anywhere). Bounds are of a 95 % interval and None when none was
    printed. ``row`` is the row of the evidence behind it, as ``sign/target/how it was read``.
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
    row: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelShares(Footing):
    """How a lesion is shared among its levels at one age, acute and chronic; each adds up to 1."""

    acute: tuple[float, ...]
    chronic: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WomenToMen(Footing):
    """The odds of a lesion in women over those in men at one age."""

    odds_female: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplacedRate(Footing):
    """How common a lesion is in one column among total prostheses, whatever the age and sex."""

    rate: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseRate(Footing):
    """How common a lesion is among knees examined in each kind of clinic.

    The reference are patients of both sexes aged 30 to 39; ``odds_by_age`` multiplies the odds in the
    bands 0-4, 5-9, 10-17, 18-29, 30-39, 40-59, 60+; ``odds_female`` those of women against men, unless
    ``women_by_age`` does for a band (its position); ``splits`` share the lesion among its levels, acute
    and chronic, unless ``shares_by_age`` does. ``rests`` says, by column, of the rates and odds that
    stand firmer than the rest of the row what they rest on. ``replaced`` holds the rates of a total
    prosthesis by column, all or none; without them it has those of any knee. ``after_operation`` changes
    them where it is known to have been operated on lately, ``mended``, by the name of an operation, takes
    their place where that was done for it.
    """

    lesion: str
    rates: Mapping[str, float]
    odds_by_age: tuple[float, ...]
    odds_female: float
    split_acute: tuple[float, ...]
    split_chronic: tuple[float, ...]
    rests: Mapping[str, Footing] = field(default_factory=dict)
    women_by_age: Mapping[int, WomenToMen] = field(default_factory=dict)
    shares_by_age: Mapping[int, LevelShares] = field(default_factory=dict)
    replaced: Mapping[str, ReplacedRate] = field(default_factory=dict)
    after_operation: AfterOperation | None = None
    mended: Mapping[str, MendedRate] = field(default_factory=dict)

    @property
    def only_replaced(self) -> bool:
        """Whether it is a lesion of prostheses alone."""
        return bool(self.replaced) and not any(self.rates.values())

    def women_to_men(self, age_band: int | None) -> float:
        """Return the odds of women over those of men in an age band (0 to 6; None: unknown)."""
        own = None if age_band is None else self.women_by_age.get(age_band)
        return self.odds_female if own is None else own.odds_female

    def splits(self, age_band: int | None) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Return the shares of the levels, acute and chronic, in an age band (0 to 6; None: unknown)."""
        own = None if age_band is None else self.shares_by_age.get(age_band)
        return (self.split_acute, self.split_chronic) if own is None else (own.acute, own.chronic)


@dataclass(frozen=True, slots=True, kw_only=True)
class Company(Footing):
    """How one lesion keeps company with another in a reference population.

    ``measure`` is "probability" (of ``also`` given ``given``, 0..1) or "odds_ratio" (above 0), ``value`` its
    value. ``acuity``: "chronic" where it takes, in old complaints, the place of the row of any ("").
    """

    given: str
    also: str
    measure: str
    value: float
    reference: str
    acuity: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Image(Footing):
    """How well an image or a laboratory procedure shows one lesion, and the minutes it takes.

    ``sign`` is the sign under which an examination records that it was done; empty where nothing does.
    """

    image: str
    name: str
    sign: str
    minutes: float
    lesion: str
    sensitivity: float
    specificity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstImage(Footing):
    """The first image by which a lesion is confirmed or graded before treatment rests on it.

    ``level`` is "" for any level; ``how`` says in which way it is done, "" for the usual one.
    """

    lesion: str
    level: str
    image: str
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Knowledge:
    """Everything the model is compiled from.

    ``mechanisms`` holds a row for each lesion, and one for a level ("lesion:level") whose mechanisms differ;
    ``later_mechanisms`` what takes its place from an age in years on.
    ``aspects``: a sign with levels of several things (an aspirate) has an indicator for each, its own first.
    """

    manifestations: Mapping[str, int]
    causes: tuple[Cause, ...]
    indicators: Mapping[str, Indicator]
    accuracy: tuple[AccuracyUsed, ...]
    base_rates: Mapping[str, BaseRate]
    mechanisms: Mapping[str, Mapping[str, float]]
    company: tuple[Company, ...]
    images: tuple[Image, ...]
    first_images: tuple[FirstImage, ...] = ()
    aspects: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    healing: tuple[Healing, ...] = ()
    reviews: tuple[Review, ...] = ()
    at_ages: tuple[Cause, ...] = ()
    later_mechanisms: tuple[tuple[str, float, Mapping[str, float]], ...] = ()

    def mechanisms_of(self, lesion: str, level: str, age_years: float | None) -> Mapping[str, float]:
        """Return how often each mechanism brings a lesion at a level about, at an age (None: not known)."""
        name = f"{lesion}:{level}" if f"{lesion}:{level}" in self.mechanisms else lesion
        age = -1.0 if age_years is None else age_years
        later = [row for row in self.later_mechanisms if row[0] == name and row[1] <= age]
        return max(later, key=lambda row: row[1])[2] if later else self.mechanisms[name]

    @property
    def signs(self) -> tuple[str, ...]:
        """The ids of the signs that have a meaning, in the order of the table: no aspects but their own."""
        parts = {part for sign, parts in self.aspects.items() for part in parts if part != sign}
        return tuple(name for name in self.indicators if name not in parts)

    @property
    def of_prostheses(self) -> frozenset[str]:
        """The lesions that only a total prosthesis has."""
        return frozenset(lesion for lesion, base in self.base_rates.items() if base.only_replaced)
