"""Names for the ids of the tables: of signs, of lesions with their levels, of images, sources and ages."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fabella.anatomy import Lesions, load_lesions
from fabella.evidence.edition import Edition
from fabella.evidence.facts import BaseRate, Knowledge
from fabella.evidence.plain import plain
from fabella.evidence.rates import ODDS_FEMALE, ODDS_OF_BANDS
from fabella.evidence.source import Footing
from fabella.protocol import Protocol, load_protocol
from fabella.stats.written import spaced

AGE_WORDS = ("under 5", "5 to 9", "10 to 17", "18 to 29", "30 to 39", "40 to 59", "60 and over")
"""The bands of age in years of the model, in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """What the ids are called; an id without a name is written out."""

    edition: Edition
    protocol: Protocol
    lesions: Lesions
    images: Mapping[str, str]

    def sign(self, sign: str) -> str:
        """Return the name of a sign."""
        return self.protocol.sign(sign).name if sign in self.protocol else spaced(sign)

    def lesion(self, lesion: str, level: str = "") -> str:
        """Return the name of a lesion, with the words of its level where it has several."""
        if lesion not in self.lesions:
            return spaced(f"{lesion} {level}".strip())
        known = self.lesions[lesion]
        named = level and len(known.levels) > 1
        return f"{known.name}, {known.level(level).words}" if named else known.name

    def together(self, parts: Sequence[tuple[str, str]], without: Sequence[str] = ()) -> str:
        """Return lesions that are there at once, and not with others, or that it is none of those listed."""
        there = " with ".join(self.lesion(lesion, level) for lesion, level in parts) or "no listed lesion"
        return " without ".join((there, *map(self.lesion, without)))

    def image(self, image: str) -> str:
        """Return the name of an image or a laboratory test."""
        return self.images.get(image, spaced(image))

    def note(self, note: str) -> str:
        """Return a remark with its sources by name."""
        return plain(self.edition, note)


def names_of(edition: Edition, knowledge: Knowledge) -> Names:
    """Return the names of everything that the model and an edition speak of."""
    return Names(
        edition=edition,
        protocol=load_protocol(),
        lesions=load_lesions(),
        images={each.image: each.name for each in knowledge.images},
    )


def firm_odds(base: BaseRate) -> Iterator[tuple[str, float, Footing]]:
    """Yield whose odds of a lesion, by age and of women, have a footing of their own, with factor and it."""
    women = "women against men"
    for band, column in enumerate(ODDS_OF_BANDS):
        if column in base.rests:
            yield f"{AGE_WORDS[band]}, against 30 to 39", base.odds_by_age[band], base.rests[column]
    if ODDS_FEMALE in base.rests:
        yield women, base.odds_female, base.rests[ODDS_FEMALE]
    for band, own in base.women_by_age.items():
        yield f"{women}, {AGE_WORDS[band]}", own.odds_female, own
