"""A sign as the model uses it: which lesions bring it, how far it tells each, what every link rests on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.anatomy import Lesions
from fabella.evidence import Edition
from fabella.evidence.facts import Cause, Indicator, Knowledge
from fabella.report.likelihood_words import odds_words, weight_at
from fabella.stats.written import percentage, spaced
from fabella.web.evidence.rests import Rests, rests_of
from fabella.workup import NOTHING, Alone, Telling, alone, tellings

_TELLS_BITS = 0.3  # less than a quarter more or less of the odds is not worth a line (judgement)
_MOST_FOR, _MOST_AGAINST = 8, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Tells:
    """How far a sign speaks for and against a lesion.

    ``…_words`` are factors of the odds, ``…_at`` the same on a scale of 0 to 100 whose middle says nothing.
    """

    sign: str
    sign_name: str
    lesion: str
    lesion_name: str
    abnormal_words: str
    abnormal_at: float
    normal_words: str
    normal_at: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """How often a knee with one lesion at one level, and nothing else, shows the sign."""

    lesion: str
    name: str
    percent: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One row of the tables: what brings a manifestation about, and how surely, degree by degree."""

    cause: str
    when: str
    manifestation: str
    chances: str
    rests: Rests


@dataclass(frozen=True, slots=True, kw_only=True)
class SignUse:
    """How the model uses a sign.

    ``hit`` and ``false_alarm`` are chances as judged; ``is_fitted`` says that published accuracy takes their
    place. ``brought`` begins with a knee in which nothing is listed.
    """

    shows: tuple[str, ...]
    from_degree: int
    hit: str
    false_alarm: str
    hidden: str
    is_fitted: bool
    rests: Rests
    brought: tuple[Brought, ...]
    links: tuple[Link, ...]


def tells_of_sign(sign: str, name: str, lesions: Lesions) -> tuple[Tells, ...]:
    """Return the lesions that an abnormal sign speaks for most, then those it speaks against most."""
    found = [each for each in tellings() if each.sign == sign]
    worth = [each for each in found if max(abs(each.bits_for), abs(each.bits_against)) >= _TELLS_BITS]
    worth.sort(key=lambda each: -each.bits_for)
    told_for = [each for each in worth if each.bits_for > 0][:_MOST_FOR]
    told_against = [each for each in worth if each.bits_for <= 0][-_MOST_AGAINST:]
    return tuple(tells(each, name, lesions[each.lesion].name) for each in (*told_for, *told_against))


def tells(each: Telling, sign_name: str, lesion_name: str) -> Tells:
    """Return how far a sign tells a lesion, in words and on the scale."""
    return Tells(
        sign=each.sign,
        sign_name=sign_name,
        lesion=each.lesion,
        lesion_name=lesion_name,
        abnormal_words=odds_words(each.bits_for),
        abnormal_at=weight_at(each.bits_for),
        normal_words=odds_words(each.bits_against),
        normal_at=weight_at(each.bits_against),
    )


def sign_use(edition: Edition, knowledge: Knowledge, lesions: Lesions, sign: str) -> SignUse | None:
    """Return how the model uses a sign; None when it knows no meaning for it."""
    indicator = knowledge.indicators.get(sign)
    if indicator is None:
        return None
    nothing, *others = alone(sign)
    links = tuple(_links(edition, knowledge, lesions, indicator))
    direct = {
        part for cause in _causes(knowledge, indicator) for part, _ in cause.parts if len(cause.parts) == 1
    }
    brought = sorted((each for each in others if each.lesion in direct), key=lambda each: -each.chance)
    return SignUse(
        shows=tuple(spaced(name) for name, _ in indicator.manifestations),
        from_degree=indicator.from_level,
        hit=percentage(indicator.hit),
        false_alarm=percentage(indicator.false_alarm),
        hidden=percentage(indicator.guard_loss) if indicator.guard_loss else "",
        is_fitted=any(each.sign == sign for each in knowledge.accuracy),
        rests=rests_of(edition, indicator),
        brought=tuple(_brought(each, lesions) for each in (nothing, *brought)),
        links=links,
    )


def _brought(each: Alone, lesions: Lesions) -> Brought:
    return Brought(
        lesion=each.lesion,
        name="nothing listed" if each.lesion == NOTHING else _named(lesions, each.lesion, each.level),
        percent=round(100 * each.chance, 1),
        words=percentage(each.chance),
    )


def _named(lesions: Lesions, lesion: str, level: str) -> str:
    known = lesions[lesion]
    if len(known.levels) == 1 or not level:
        return known.name
    return f"{known.name}, {known.level(level).words}"


def _causes(knowledge: Knowledge, indicator: Indicator) -> tuple[Cause, ...]:
    shown = {name for name, _ in indicator.manifestations}
    rows = (*knowledge.causes, *knowledge.at_ages)
    return tuple(each for each in rows if each.manifestation in shown)


def _links(edition: Edition, knowledge: Knowledge, lesions: Lesions, indicator: Indicator) -> Iterator[Link]:
    for cause in sorted(
        _causes(knowledge, indicator), key=lambda each: (-len(each.at_least), -each.at_least[0])
    ):
        parts = [_named(lesions, lesion, level) for lesion, level in cause.parts]
        there = " with ".join(parts) or "none of these"
        yield Link(
            cause=" without ".join((there, *(lesions[each].name for each in cause.without))),
            when=", ".join(filter(None, (_OF_AN_ACUITY[cause.acuity], _ages(cause)))),
            manifestation=spaced(cause.manifestation),
            chances=" · ".join(percentage(each) if each else "–" for each in cause.at_least),
            rests=rests_of(edition, cause),
        )


_OF_AN_ACUITY = {"": "", "acute": "fresh", "chronic": "older"}


def _ages(cause: Cause) -> str:
    return "" if cause.below_years is None else f"below {cause.below_years:g} years"
