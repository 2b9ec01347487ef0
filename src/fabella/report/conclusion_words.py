"""The conclusion in the words of a colleague: how likely, how surely, why, and what else fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.anatomy import Lesions, Side
from fabella.protocol import Protocol
from fabella.report.likelihood_words import Chance, chance, percentage, word_for
from fabella.report.phrases import said_in_history, said_normal
from fabella.report.readings import Outcome, Readings
from fabella.report.wording import described, listed, lowered
from fabella.workup import ANY_LEVEL, Grounding, KneeConclusion, LesionProbability, Reason

NAMED_FROM, ELSE_FROM = 0.20, 0.05
"""Probabilities from which a lesion is named, and from which it is listed as fitting as well (judgement)."""

_MOST_NAMED, _MOST_ELSE = 4, 4
_MOST_FOR, _MOST_AGAINST = 4, 2
_WEIGHS_BITS = 0.25  # a reason that moves the odds by less than a fifth is not worth a word (judgement)


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
    pro, contra
        The strongest findings for and against, in words.
    """

    lesion: str
    name: str
    chance: Chance
    probability: float
    low: float
    high: float
    levels: str
    pro: tuple[str, ...]
    contra: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """The lesion in one phrase that never states it as a fact."""
        return f"{self.chance.word} {self.name}, {self.chance.short}"


@dataclass(frozen=True, slots=True, kw_only=True)
class KneeWords:
    """What is concluded about one knee.

    Parameters
    ----------
    side, verdict
        Which knee, and the conclusion in one sentence.
    lesions
        The lesions named, the likeliest first; empty when none stands out.
    fits_too
        What else fits, less likely, as one phrase; empty when there is nothing.
    poor_fit
        A plain warning when the findings fit nothing well; empty otherwise.
    """

    side: Side
    verdict: str
    lesions: tuple[LesionWords, ...]
    fits_too: str
    poor_fit: str


def knee_words(knee: KneeConclusion, readings: Readings, lesions: Lesions, protocol: Protocol) -> KneeWords:
    """Return the conclusion about one knee in words."""
    if not knee.findings:
        nothing = "nothing was examined that would allow a conclusion"
        return KneeWords(side=knee.side, verdict=nothing, lesions=(), fits_too="", poor_fit="")
    entries = knee.any_level()
    named = [each for each in entries if each.probability >= NAMED_FROM][:_MOST_NAMED]
    rest = [each for each in entries if each not in named and each.probability >= ELSE_FROM][:_MOST_ELSE]
    words = tuple(_lesion(each, knee, readings, lesions, protocol) for each in named)
    return KneeWords(
        side=knee.side,
        verdict=_verdict(words, knee),
        lesions=words,
        fits_too=listed([f"{lesions[each.lesion].name} {percentage(each.probability)}" for each in rest]),
        poor_fit=_poor_fit(knee, protocol),
    )


def _verdict(words: Sequence[LesionWords], knee: KneeConclusion) -> str:
    if words:
        return "; ".join(each.sentence for each in words)
    none = percentage(knee.nothing_listed)
    return f"no lesion stands out; {word_for(knee.nothing_listed)} none of those considered, {none}"


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
        pro=_reasons(entry.reasons_for, _MOST_FOR, knee.side, readings, protocol),
        contra=_reasons(entry.reasons_against, _MOST_AGAINST, knee.side, readings, protocol),
    )


def _reasons(
    reasons: Sequence[Reason], most: int, side: Side, readings: Readings, protocol: Protocol
) -> tuple[str, ...]:
    strongest = sorted(reasons, key=lambda each: -abs(each.weight_bits))[:most]
    return tuple(
        _finding(each, side, readings, protocol)
        for each in strongest
        if abs(each.weight_bits) >= _WEIGHS_BITS
    )


def _finding(reason: Reason, side: Side, readings: Readings, protocol: Protocol) -> str:
    """A finding as a reason: in full when it was abnormal, else as normal or absent."""
    if reason.sign not in protocol:
        return reason.sign.replace("_", " ")
    sign = protocol.sign(reason.sign)
    reading = readings.find(sign.id, side) or readings.find(sign.id, None)
    seen = reading is not None and reading.outcome is not Outcome.NOT_EXAMINED
    if reading is not None and seen and (reason.abnormal or reading.value is not None):
        return described(reading, beside=False)
    name = said_in_history(sign.id) or lowered(sign.name)
    if reason.abnormal:
        return name
    return said_normal(sign.id) or f"{'no' if sign.is_history else 'normal'} {name}"


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


def grounding_words(grounding: Grounding) -> str:
    """Return what the conclusion rests on, as one phrase; empty when nothing is known."""
    shares = (
        (grounding.published, "published"),
        (grounding.derived, "derived from it"),
        (grounding.judgement, "judgement"),
    )
    if not any(share for share, _ in shares):
        return ""
    return listed([f"{round(share * 100)}% {word}" for share, word in shares if round(share * 100)])
