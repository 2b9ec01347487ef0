"""A lesion as the model sees it: how common it is, what speaks for and against it, what goes with it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.anatomy import Lesion, Lesions
from fabella.evidence import Edition
from fabella.evidence.facts import AccuracyUsed, BaseRate, Company, Image, Knowledge
from fabella.evidence.named import AGE_WORDS, firm_odds
from fabella.protocol import Protocol
from fabella.report.whiskers import percent
from fabella.stats.written import percent_words, percentage, share_words, spaced
from fabella.web.evidence.rests import Rests, rests_of, rests_of_published
from fabella.web.evidence.signs import Tells, tells
from fabella.workup import tellings

_MOST_TOLD = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """How common a lesion is in one place: words, a percentage for the bar and what it rests on."""

    where: str
    words: str
    percent: float | None
    low: float | None
    high: float | None
    detail: str
    rests: Rests


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """One statement on what goes with a lesion."""

    words: str
    value: str
    population: str
    rests: Rests


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """How well an image or a laboratory test shows the lesion."""

    image: str
    name: str
    sensitivity: str
    specificity: str
    rests: Rests


@dataclass(frozen=True, slots=True, kw_only=True)
class Accurate:
    """A published accuracy of a sign for the lesion that the model uses, in short."""

    sign: str
    name: str
    where: str
    sensitivity: float
    specificity: float
    rests: Rests


def tells_of_lesion(lesion: Lesion, protocol: Protocol) -> tuple[tuple[Tells, ...], tuple[Tells, ...]]:
    """Return the findings that speak most for a lesion, and those whose absence speaks most against it."""
    found = [each for each in tellings() if each.lesion == lesion.id]
    told_for = sorted((each for each in found if each.bits_for > 0), key=lambda each: -each.bits_for)
    told_against = sorted(
        (each for each in found if each.bits_against < 0), key=lambda each: each.bits_against
    )
    return (
        tuple(tells(each, protocol.sign(each.sign).name, lesion.name) for each in told_for[:_MOST_TOLD]),
        tuple(tells(each, protocol.sign(each.sign).name, lesion.name) for each in told_against[:_MOST_TOLD]),
    )


def rates(edition: Edition, base: BaseRate) -> tuple[Rate, ...]:
    """Return how common the model takes a lesion to be in a native knee, clinic by clinic.

    Empty for what only a prosthesis has.
    """
    if base.only_replaced:
        return ()
    whole = rests_of(edition, base)
    return tuple(
        _rate(column, share, rests_of(edition, base.rests[column]) if column in base.rests else whole)
        for column, share in base.rates.items()
    )


def rates_replaced(edition: Edition, base: BaseRate) -> tuple[Rate, ...]:
    """Return how common the model takes it to be in a total prosthesis; empty where as in any knee."""
    return tuple(_rate(column, each.rate, rests_of(edition, each)) for column, each in base.replaced.items())


def _rate(column: str, share: float, rests: Rests) -> Rate:
    return Rate(
        where=_WHERE.get(column, spaced(column)),
        words=percentage(share) if share else "none",
        percent=percent(share),
        low=None,
        high=None,
        detail="",
        rests=rests,
    )


_WHERE = {
    "acute_emergency": "fresh, emergency department",
    "acute_primary_care": "fresh, general practice",
    "acute_clinic": "fresh, knee or sports clinic",
    "chronic_primary_care": "older, general practice",
    "chronic_clinic": "older, knee or sports clinic",
    "background": "the knee not complained of",
}


def odds_by_age(base: BaseRate) -> tuple[tuple[str, float], ...]:
    """Return by how much the odds differ from those aged 30 to 39, band by band."""
    return tuple(zip(AGE_WORDS, base.odds_by_age, strict=True))


def odds_with_footing(edition: Edition, base: BaseRate) -> tuple[Beside, ...]:
    """Return the odds by age and of women against men that are more than their row's judgement."""
    return tuple(
        Beside(words=whom, value=f"× {odds:g}", population="", rests=rests_of(edition, footing))
        for whom, odds, footing in firm_odds(base)
    )


def published_rates(edition: Edition, lesion: Lesion) -> tuple[Rate, ...]:
    """Return how common sources found a lesion, under any of its names."""
    return tuple(
        Rate(
            where=", ".join(filter(None, (spaced(row.setting), row.stratum))),
            words=percent_words(row.share.value, row.share.low, row.share.high),
            percent=percent(row.share.value),
            low=percent(row.share.low),
            high=percent(row.share.high),
            detail=", ".join(
                filter(
                    None,
                    (
                        spaced(row.lesion) if row.lesion != lesion.id else "",
                        row.age_band,
                        row.sex if row.sex != "both" else "",
                        f"{row.n} people" if row.n else "",
                    ),
                )
            ),
            rests=rests_of_published(edition, row, row.notes),
        )
        for row in edition.prevalence
        if row.lesion in {lesion.id, *lesion.also}
    )


def company(edition: Edition, knowledge: Knowledge, lesions: Lesions, lesion: Lesion) -> tuple[Beside, ...]:
    """Return what the model takes to go with a lesion."""
    return tuple(
        Beside(
            words=_company_words(each, lesions),
            value=percentage(each.value) if each.measure == "probability" else f"odds × {each.value:g}",
            population=spaced(each.reference),
            rests=rests_of(edition, each),
        )
        for each in knowledge.company
        if lesion.id in {each.given, each.also}
    )


def _company_words(each: Company, lesions: Lesions) -> str:
    old = ", older complaints" if each.acuity else ""
    return f"{lesions[each.also].name}, given {lesions[each.given].name}{old}"


def published_company(edition: Edition, lesion: Lesion) -> tuple[Beside, ...]:
    """Return what sources found to go with a lesion, under any of its names."""
    return tuple(_published_company(edition, lesion))


def _published_company(edition: Edition, lesion: Lesion) -> Iterator[Beside]:
    names = {lesion.id, *lesion.also}
    for row in edition.cooccurrence:
        if not names & {row.lesion_a, row.lesion_b}:
            continue
        is_share = row.measure == "P(b|a)"
        number = row.estimate
        plain = " to ".join(f"{end:g}" for end in (number.low, number.high) if end is not None)
        value = "" if number.value is None else f"{number.value:g}"
        yield Beside(
            words=f"{spaced(row.lesion_b)}, given {spaced(row.lesion_a)}",
            value=percent_words(number.value, number.low, number.high)
            if is_share
            else f"{spaced(row.measure)} {value}{f' ({plain})' if plain and value else plain}",
            population=", ".join(filter(None, (row.population, f"n = {row.n}" if row.n else ""))),
            rests=rests_of_published(edition, row, row.notes),
        )


def images(edition: Edition, knowledge: Knowledge, lesion: Lesion) -> tuple[Seen, ...]:
    """Return how well images and laboratory tests show a lesion."""
    return tuple(_seen(edition, each) for each in knowledge.images if each.lesion == lesion.id)


def _seen(edition: Edition, each: Image) -> Seen:
    return Seen(
        image=each.image,
        name=each.name,
        sensitivity=share_words(each.sensitivity),
        specificity=share_words(each.specificity),
        rests=rests_of(edition, each),
    )


def accuracies(
    edition: Edition, knowledge: Knowledge, protocol: Protocol, lesion: Lesion
) -> tuple[Accurate, ...]:
    """Return the published accuracies for a lesion that the model is fitted to."""
    return tuple(
        _accurate(edition, each, protocol) for each in knowledge.accuracy if lesion.id in each.targets
    )


def _accurate(edition: Edition, each: AccuracyUsed, protocol: Protocol) -> Accurate:
    return Accurate(
        sign=each.sign,
        name=protocol.sign(each.sign).name,
        where=spaced(each.setting) if each.setting else "anywhere",
        sensitivity=each.sensitivity,
        specificity=each.specificity,
        rests=rests_of(edition, each),
    )
