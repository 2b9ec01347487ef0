"""The conclusion in the words of a colleague: how likely, how surely, why, and what else fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.anatomy import Lesions, Side
from fabella.protocol import Protocol
from fabella.report.likelihood_words import Chance, chance, word_for
from fabella.report.readings import Readings
from fabella.report.reason_words import (
    ReasonWords,
    leading,
    look_again,
    reason_words,
    speaking_against,
    speaking_for,
)
from fabella.report.wording import listed, lowered
from fabella.stats.written import percentage
from fabella.workup import ANY_LEVEL, KneeConclusion, LesionProbability

NAMED_FROM, ELSE_FROM = 0.20, 0.05
"""Probabilities from which a lesion is named, and from which it is listed as fitting as well (judgement)."""

_AS_LIKELY_FROM = 0.40  # below it is said how likely one of the lesions is, not how unlikely none
_MOST_NAMED, _MOST_ELSE = 4, 4
_MOST_FOR, _MOST_AGAINST = 4, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class LesionWords:
    """One lesion as it stands in the table of the letter.

    Parameters
    ----------
    lesion, name
        Its id and its name.
    chance
        Word, percentage and 90 % interval.
    probability, low, high
        The same as numbers for the bar, 0 to 1.
    levels
        How likely each of its levels is, such as ``complete 71%, partial 17%``; empty when it has one.
    reasons_for, reasons_against
        Every finding for and against that is worth a word, the strongest first.
    """

    lesion: str
    name: str
    chance: Chance
    probability: float
    low: float
    high: float
    levels: str
    reasons_for: tuple[ReasonWords, ...]
    reasons_against: tuple[ReasonWords, ...]

    @property
    def pro(self) -> tuple[str, ...]:
        """The findings to name first for it, in words."""
        return tuple(each.words for each in leading(self.reasons_for, _MOST_FOR))

    @property
    def contra(self) -> tuple[str, ...]:
        """The strongest findings against it, in words."""
        return tuple(each.words for each in self.reasons_against[:_MOST_AGAINST])

    @property
    def sentence(self) -> str:
        """The lesion in one phrase that never states it as a fact."""
        return f"{self.chance.word} {self.name}, {self.chance.short}"


@dataclass(frozen=True, slots=True, kw_only=True)
class FitsToo:
    """A lesion that fits as well, less likely: its id, name and percentage."""

    lesion: str
    name: str
    percent: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KneeWords:
    """What is concluded about one knee.

    Parameters
    ----------
    side, verdict
        Which knee, and the conclusion in one sentence.
    lesions
        The lesions named, the likeliest first; empty when none stands out.
    others
        What else fits, less likely.
    poor_fit
        A plain warning when the findings fit nothing well; empty otherwise.
    look_again
        Findings that measure the same thing and disagree, and why; empty when none do.
    """

    side: Side
    verdict: str
    lesions: tuple[LesionWords, ...]
    others: tuple[FitsToo, ...]
    poor_fit: str
    look_again: str = ""

    @property
    def fits_too(self) -> str:
        """What else fits, as one phrase; empty when there is nothing."""
        return listed([f"{each.name} {each.percent}" for each in self.others])


def knee_words(knee: KneeConclusion, readings: Readings, lesions: Lesions, protocol: Protocol) -> KneeWords:
    """Return the conclusion about one knee in words."""
    if not knee.findings:
        nothing = "nothing was examined that would allow a conclusion"
        return KneeWords(side=knee.side, verdict=nothing, lesions=(), others=(), poor_fit="")
    entries = knee.any_level()
    named = [each for each in entries if each.probability >= NAMED_FROM][:_MOST_NAMED]
    rest = [each for each in entries if each not in named and each.probability >= ELSE_FROM][:_MOST_ELSE]
    words = tuple(_lesion(each, knee, readings, lesions, protocol) for each in named)
    return KneeWords(
        side=knee.side,
        verdict=_verdict(words, knee),
        lesions=words,
        others=tuple(
            FitsToo(
                lesion=each.lesion,
                name=lesions[each.lesion].name,
                percent=percentage(each.probability),
            )
            for each in rest
        ),
        poor_fit=_poor_fit(knee, protocol),
        look_again=look_again(knee.side, readings, protocol),
    )


def _verdict(words: Sequence[LesionWords], knee: KneeConclusion) -> str:
    if words:
        return "; ".join(each.sentence for each in words)
    sound = knee.nothing_listed
    if sound >= _AS_LIKELY_FROM:
        return f"no lesion stands out; {word_for(sound)} none of those considered, {percentage(sound)}"
    some = 1 - sound
    return f"no single lesion stands out; {word_for(some)} one of those considered, {percentage(some)}"


def _lesion(
    entry: LesionProbability, knee: KneeConclusion, readings: Readings, lesions: Lesions, protocol: Protocol
) -> LesionWords:
    lesion = lesions[entry.lesion]
    levels = [each for each in knee.lesions if each.lesion == entry.lesion and each.level != ANY_LEVEL]
    return LesionWords(
        lesion=entry.lesion,
        name=lesion.name,
        chance=chance(entry.probability, low=entry.low, high=entry.high),
        probability=entry.probability,
        low=entry.low,
        high=entry.high,
        levels=", ".join(
            f"{lesion.level(each.level).words} {percentage(each.probability)}" for each in levels
        )
        if len(lesion.levels) > 1
        else "",
        reasons_for=reason_words(speaking_for(entry.reasons_for), knee.side, readings, protocol),
        reasons_against=reason_words(
            speaking_against(entry.reasons_against, protocol), knee.side, readings, protocol
        ),
    )


def _poor_fit(knee: KneeConclusion, protocol: Protocol) -> str:
    if not knee.fit.poor:
        return ""
    odd = listed(
        [lowered(protocol.sign(each).name) if each in protocol else each for each in knee.fit.odd[:3]]
    )
    least = f"; least of all {odd}" if odd else ""
    return (
        f"These findings fit none of this well{least}. The percentages deserve little trust: examine again."
    )
